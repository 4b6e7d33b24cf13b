package api_test

import (
	"net"
	"net/netip"
	"strings"
	"testing"

	"hoppertally/server/auth"
)

func TestAttackAForwardedAddressIsReadOrDropped(t *testing.T) {
	p := start(t, options{proxied: true, isTLS: true})
	mia := p.signIn("p-mia", "dev-mia")
	for said, want := range map[string]string{
		"10.1.2.3": "10.1.2.3", "6.6.6.6, 10.1.2.3": "10.1.2.3", "6.6.6.6,10.1.2.3 ": "10.1.2.3", "10.1.2.3:4711": "10.1.2.3", "2001:db8::1": "2001:db8::1", "2001:DB8:0::1": "2001:db8::1",
		"[2001:db8::1]": "2001:db8::1", "[2001:db8::1]:80": "2001:db8::1", "::ffff:10.1.2.3": "10.1.2.3", "fe80::1%eth0": "fe80::1",
		// what is no address is not kept, shown or counted: the connection's own stands there
		"<script>alert(1)</script>": "127.0.0.1", "=cmd|'x'": "127.0.0.1", "unknown": "127.0.0.1", "_hidden": "127.0.0.1", "999.1.1.1": "127.0.0.1", "10.1.2": "127.0.0.1", "1": "127.0.0.1", "10.1.2.3,": "127.0.0.1",
		"10.1.2.3, x": "127.0.0.1", "0.0.0.0": "127.0.0.1", "::": "127.0.0.1", "10.1.2.3 6.6.6.6": "127.0.0.1", "localhost": "127.0.0.1", "10.1.2.3;x": "127.0.0.1", strings.Repeat("9", 5000): "127.0.0.1", "": "127.0.0.1",
	} {
		mia.do("POST", "/api/v1/phones/dev-mia/name", map[string]any{"name": "x"}, "X-Forwarded-For", said).want(204)
		var list struct{ Events []auth.Event }
		mia.do("GET", "/api/v1/events?max=1", nil).want(200).json(&list)
		if got := list.Events[0].Address; got != want {
			t.Errorf("forwarded for %.40q: address %.40q, want %s", said, got, want)
		}
	}
}

// from is a listener whose connections come from an address of the test's choice and arrive
// at another, as the kernel would say of a phone on the network.
type from struct {
	net.Listener
	remote, local string
}

type fromConn struct {
	net.Conn
	remote, local net.Addr
}

func (l from) Accept() (net.Conn, error) {
	c, err := l.Listener.Accept()
	end := func(address string, port uint16) net.Addr {
		return net.TCPAddrFromAddrPort(netip.AddrPortFrom(netip.MustParseAddr(address), port))
	}
	return fromConn{c, end(l.remote, 4711), end(l.local, 8377)}, err
}

func (c fromConn) RemoteAddr() net.Addr { return c.remote }
func (c fromConn) LocalAddr() net.Addr  { return c.local }

func ranges(text string) []netip.Prefix { return []netip.Prefix{netip.MustParsePrefix(text)} }

func TestAttackMetricsAreForThisMachineOnly(t *testing.T) {
	for _, tt := range []struct {
		name    string
		o       options
		head    []string // pairs
		allowed bool
	}{
		{"this machine", options{}, nil, true},
		{"this machine by its other loopback address", options{remote: "127.0.0.7"}, nil, true},
		{"this machine by its address in the shop", options{remote: "192.168.1.1"}, nil, true},
		{"this machine by its address of IPv6", options{remote: "fd00::1", local: "fd00::1"}, nil, true},
		{"a phone of the shop", options{remote: "192.168.1.20"}, nil, false},
		{"a phone that calls itself this machine", options{remote: "192.168.1.20"}, []string{"X-Forwarded-For", "127.0.0.1", "X-Real-Ip", "127.0.0.1", "Forwarded", "for=127.0.0.1"}, false},
		{"a phone over IPv6", options{remote: "fd00::20"}, nil, false},
		{"a machine that was named", options{remote: "192.168.1.20", metricsFrom: ranges("192.168.1.20/32")}, nil, true},
		{"its neighbour", options{remote: "192.168.1.21", metricsFrom: ranges("192.168.1.20/32")}, nil, false},
		{"a range that was named", options{remote: "fd00::20", metricsFrom: ranges("fd00::/64")}, nil, true},
		{"this machine when another was named", options{metricsFrom: ranges("192.168.1.20/32")}, nil, true},
		{"this machine past its proxy", options{proxied: true}, nil, true},
		{"a stranger through the proxy", options{proxied: true}, []string{"X-Forwarded-For", "203.0.113.9"}, false},
		{"a stranger who says 127.0.0.1 to the proxy", options{proxied: true}, []string{"X-Forwarded-For", "127.0.0.1, 203.0.113.9"}, false},
		{"a proxy that is itself behind one on this machine", options{proxied: true}, []string{"X-Forwarded-For", "127.0.0.1"}, false},
		{"a stranger whom the proxy gives no address", options{proxied: true}, []string{"X-Forwarded-For", "unknown"}, false},
		{"a proxy that only passes the name", options{proxied: true, names: []string{"shop.example"}}, []string{"Host", "shop.example"}, false},
		{"a machine that was named, through the proxy", options{proxied: true, metricsFrom: ranges("203.0.113.9/32")}, []string{"X-Forwarded-For", "203.0.113.9"}, true},
		{"one that only says it is that machine", options{metricsFrom: ranges("203.0.113.9/32"), remote: "192.168.1.20"}, []string{"X-Forwarded-For", "203.0.113.9"}, false},
		{"a proxy that was not named, on this machine", options{}, []string{"X-Forwarded-For", "203.0.113.9"}, false},
	} {
		p := start(t, tt.o)
		host, lines := "localhost", ""
		for i := 0; i+1 < len(tt.head); i += 2 {
			if tt.head[i] == "Host" {
				host = tt.head[i+1]
			} else {
				lines += tt.head[i] + ": " + tt.head[i+1] + "\r\n"
			}
		}
		status, body := p.asked("GET", "/metrics", host, lines)
		if want := map[bool]int{true: 200, false: 403}[tt.allowed]; status != want || tt.allowed != strings.Contains(body, "hoppertally_head") {
			t.Errorf("%s: %d, want %d: %.200s", tt.name, status, want, body)
		}
		if status, _ := p.asked("GET", "/healthz", host, lines); status != 200 {
			t.Errorf("%s: the health is %d", tt.name, status)
		}
		p.stop()
	}
}

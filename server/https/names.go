package https

import (
	"fmt"
	"net"
	"net/netip"
	"slices"
	"strings"
)

// suffixes are the names that the shop's root may vouch for: their own and
// everything below them. No public name can end in one of these.
var suffixes = []string{
	"localhost", // RFC 6761, section 6.3
	"test",      // RFC 6761, section 6.2
	"local",     // RFC 6762, section 3 (multicast DNS)
	"home.arpa", // RFC 8375
	"internal",  // reserved for private use by ICANN, board resolution of 29 July 2024 (from memory)
	"lan",       // common practice, no source; not in the public root zone
}

// ranges are the addresses that it may vouch for: none of them is routed in public.
var ranges = []netip.Prefix{
	netip.MustParsePrefix("127.0.0.0/8"),    // loopback, RFC 1122
	netip.MustParsePrefix("10.0.0.0/8"),     // private, RFC 1918
	netip.MustParsePrefix("172.16.0.0/12"),  // private, RFC 1918
	netip.MustParsePrefix("192.168.0.0/16"), // private, RFC 1918
	netip.MustParsePrefix("169.254.0.0/16"), // link-local, RFC 3927
	netip.MustParsePrefix("100.64.0.0/10"),  // behind a carrier's NAT, RFC 6598
	netip.MustParsePrefix("::1/128"),        // loopback, RFC 4291
	netip.MustParsePrefix("fc00::/7"),       // unique local, RFC 4193
	netip.MustParsePrefix("fe80::/10"),      // link-local, RFC 4291
}

// HostsMax is how many names and addresses one certificate may carry.
const HostsMax = 64

// A HostError says that the shop's root may not vouch for a host.
type HostError struct{ Host, Why string }

func (e *HostError) Error() string {
	return fmt.Sprintf("no certificate of the shop's own for %q: %s", e.Host, e.Why)
}

// CheckHost tells whether the shop's root may vouch for a name or an address; the
// error is a *HostError. A bare name without a dot is refused too: some of them are
// public top-level domains, and a root for "shop" could pose as every shop there.
func CheckHost(host string) error {
	if a, err := netip.ParseAddr(host); err == nil {
		if a.Zone() == "" && isPrivate(a) {
			return nil
		}
		return &HostError{host, "only private addresses (10…, 172.16–31…, 192.168…, fd…); for a public one take --https acme with a name"}
	}
	if err := checkName(host); err != nil {
		return err
	}
	for _, s := range suffixes {
		if host == s && s == "localhost" || strings.HasSuffix(host, "."+s) {
			return nil
		}
	}
	return &HostError{host, "only names that end in ." + strings.Join(suffixes, ", .") + "; for a public name take --https acme"}
}

// checkName holds a name to the letters, digits and hyphens of a host name
// (RFC 1123, section 2.1), in lower case.
func checkName(host string) error {
	if host == "" || len(host) > 253 {
		return &HostError{host, "not a name"}
	}
	for label := range strings.SplitSeq(host, ".") {
		isGood := label != "" && len(label) <= 63 && label[0] != '-' && label[len(label)-1] != '-' &&
			strings.Trim(label, "abcdefghijklmnopqrstuvwxyz0123456789-") == ""
		if !isGood {
			return &HostError{host, "a name is lower-case letters, digits, hyphens and dots, without port or https://"}
		}
	}
	return nil
}

func isPrivate(a netip.Addr) bool {
	a = a.Unmap()
	return slices.ContainsFunc(ranges, func(p netip.Prefix) bool { return p.Contains(a) })
}

// MachineAddrs are the private addresses of this machine: the one by which it reaches
// others first, the rest sorted. Those with a zone (fe80::…%eth0) are left out: no
// browser takes them in an address.
func MachineAddrs() ([]netip.Addr, error) {
	all, err := net.InterfaceAddrs()
	if err != nil {
		return nil, fmt.Errorf("read this machine's addresses: %w", err)
	}
	var out []netip.Addr
	for _, one := range all {
		p, err := netip.ParsePrefix(one.String())
		if err != nil {
			continue
		}
		if a := p.Addr().Unmap().WithZone(""); isPrivate(a) && (a.Is4() || !a.IsLinkLocalUnicast()) {
			out = append(out, a)
		}
	}
	slices.SortFunc(out, netip.Addr.Compare)
	out = slices.Compact(out)
	if i := slices.Index(out, outward()); i > 0 {
		first := out[i]
		out = slices.Insert(slices.Delete(out, i, i+1), 0, first)
	}
	return out, nil
}

// outward is the address by which this machine would send to the outside; the zero
// address when it knows no way. Nothing is sent: 192.0.2.1 is nobody's (RFC 5737).
func outward() netip.Addr {
	c, err := net.Dial("udp4", "192.0.2.1:9")
	if err != nil {
		return netip.Addr{}
	}
	defer c.Close()
	p, err := netip.ParseAddrPort(c.LocalAddr().String())
	if err != nil {
		return netip.Addr{}
	}
	return p.Addr()
}

// always are vouched for whatever the machine says, so that the person at the
// server can open the page there.
var always = []string{"localhost", "127.0.0.1", "::1"}

// hostsOf are the hosts of a certificate, HostsMax at most and none twice: the given
// ones in their order, the machine's addresses, localhost.
func hostsOf(given []string, addrs []netip.Addr) []string {
	hosts := slices.Clone(given)
	for _, a := range addrs {
		hosts = append(hosts, a.String())
	}
	hosts = append(hosts[:min(len(hosts), HostsMax-len(always))], always...)
	seen := map[string]bool{}
	return slices.DeleteFunc(hosts, func(h string) bool { was := seen[h]; seen[h] = true; return was })
}

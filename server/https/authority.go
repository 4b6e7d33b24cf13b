package https

import (
	"net"
	"net/netip"
	"strconv"
	"strings"
)

// Authority takes a host and perhaps a port apart, as they stand in a Host header or in
// an address (RFC 3986, section 3.2): example.lan:8377, 10.0.0.2, [fd00::2]:8377. The
// host is in lower case, without brackets and without the dot that may end a name; the
// port is "" if there is none.
func Authority(s string) (host, port string, ok bool) {
	host = s
	isBracketed := strings.HasPrefix(s, "[")
	if isBracketed != strings.HasSuffix(s, "]") || strings.Count(s, ":") == 1 {
		var err error
		if host, port, err = net.SplitHostPort(s); err != nil {
			return "", "", false
		}
		if n, err := strconv.ParseUint(port, 10, 16); err != nil || n == 0 {
			return "", "", false
		}
	} else {
		host = strings.TrimSuffix(strings.TrimPrefix(s, "["), "]")
	}
	if a, err := netip.ParseAddr(host); err == nil {
		return a.Unmap().String(), port, true
	}
	host = strings.TrimSuffix(strings.ToLower(host), ".")
	return host, port, !isBracketed && checkName(host) == nil
}

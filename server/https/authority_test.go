package https

import "testing"

func TestAHostIsTakenApart(t *testing.T) {
	for in, want := range map[string][2]string{
		"hopper.lan": {"hopper.lan", ""}, "Hopper.LAN.:8377": {"hopper.lan", "8377"}, "localhost:1": {"localhost", "1"}, "10.0.0.2": {"10.0.0.2", ""},
		"10.0.0.2:443": {"10.0.0.2", "443"}, "[fd00::2]": {"fd00::2", ""}, "[FD00:0::2]:8377": {"fd00::2", "8377"}, "fd00::2": {"fd00::2", ""}, "[::ffff:10.0.0.2]:1": {"10.0.0.2", "1"},
	} {
		if host, port, ok := Authority(in); !ok || host != want[0] || port != want[1] {
			t.Errorf("%s: %q %q %v, want %q", in, host, port, ok, want)
		}
	}
	for _, in := range []string{"", ":", ":80", "a:", "a:b", "a:0", "a:65536", "a:-1", "a:1:2", "[::1", "::1]", "[::1]x", "[::1]:", "[a]", "[a]:1", "[10.0.0.2", "a b", "a@b", "a/b", "http://a", "a,b", "-a", "a..b", "..", "ä.lan", "a\x00", "a%00"} {
		if host, port, ok := Authority(in); ok {
			t.Errorf("%q is taken for host %q, port %q", in, host, port)
		}
	}
}

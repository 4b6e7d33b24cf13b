package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/netip"
	"os"
	"slices"
	"strings"
	"time"

	"hoppertally/server/house"
	"hoppertally/server/https"
	"hoppertally/server/qr"
)

// httpsFlags say how phones reach the server. Each way is explained in README.
type httpsFlags struct {
	HTTPS         string   `name:"https" default:"off" enum:"off,local,acme" help:"How phones get HTTPS, without which they cannot work offline. off: plain HTTP, for this machine itself or behind a proxy that does it. local: certificates of the shop's own, which each phone is led through trusting once. acme: certificates for a public name, fetched and renewed by themselves."`
	Host          []string `help:"local: a private name (ending in .lan, .local, .internal, .home.arpa) or address of this server besides its own addresses; repeatable, the first is the one that phones are given. Choose it before the first phone comes: entries that were not sent stay with the old address. off: any other name or address by which it is asked."`
	TrustAddr     string   `default:":8380" help:"local: address of the plain-HTTP page that leads a phone through trusting the shop's root."`
	Domain        []string `help:"acme: the public name of this server; repeatable. Its port 443 must lead here. Using it accepts the ACME server's terms of service. --proxied: the name by which phones reach the proxy, with its port if that is not 443; repeatable, the first is the one that phones are given."`
	ACMEDirectory string   `name:"acme-directory" help:"acme: directory address of another ACME server than Let's Encrypt."`
	ACMETrust     string   `name:"acme-trust" type:"existingfile" help:"acme: file of PEM roots by which to know that server."`
	ACMEEmail     string   `name:"acme-email" help:"acme: address that the ACME server may write to."`
}

// entrance is where phones come in.
type entrance struct {
	ln        net.Listener    // ready for the server
	origins   func() []string // addresses that lead here, the preferred one first
	names     []string        // that lead here, besides localhost and the machine's own addresses
	isTLS     bool            // phones see HTTPS
	isProxied bool            // by a proxy in front
	ownRoot   bool            // under a root of the shop's own
	watch     []func(ctx context.Context)
	trust     *https.Trust

	metricsFrom []netip.Prefix // who may read the metrics besides this machine
	trustLn     net.Listener
}

// check finds flags that belong to another way.
func (f *httpsFlags) check(isProxied bool) error {
	switch {
	case f.HTTPS != "off" && isProxied:
		return &exit{exitUsage, errors.New("--proxied goes with --https off: the proxy does HTTPS")}
	case isProxied && len(f.Domain) == 0:
		return &exit{exitUsage, errors.New("--proxied needs --domain, the name by which phones reach the proxy")}
	case (f.HTTPS == "acme" || isProxied) && len(f.Host) > 0:
		return &exit{exitUsage, errors.New("--host goes with --https local or off; the public name is --domain")}
	case f.HTTPS != "acme" && !isProxied && len(f.Domain) > 0:
		return &exit{exitUsage, errors.New("--domain goes with --https acme or --proxied; a private name is --host")}
	}
	for _, name := range slices.Concat(f.Host, f.Domain) {
		if _, port, ok := https.Authority(name); !ok || port != "" && !isProxied {
			return &exit{exitUsage, fmt.Errorf("%q is not the name or address of a server: letters, digits, hyphens and dots, without https://", name)}
		}
	}
	return nil
}

// addr is where to listen if nobody says.
func (f *httpsFlags) addr() string {
	switch f.HTTPS {
	case "local":
		return ":8377"
	case "acme":
		return ":443"
	}
	return "127.0.0.1:8377"
}

// open makes the entrance on ln.
func (f *httpsFlags) open(ln net.Listener, data string, isProxied bool, log *slog.Logger) (*entrance, error) {
	_, port, _ := net.SplitHostPort(ln.Addr().String())
	switch f.HTTPS {
	case "local":
		return f.openLocal(ln, port, https.Folder(data), log)
	case "acme":
		p, err := https.OpenPublic(https.PublicOptions{Dir: https.Folder(data), Domains: f.Domain, Directory: f.ACMEDirectory, Trust: f.ACMETrust, Email: f.ACMEEmail, Slog: log})
		if err != nil {
			return nil, err
		}
		origins := func() (out []string) {
			for _, d := range p.Hosts() { // a router may lead its 443 to another port here
				out = append(out, https.Origin(d, "443"), https.Origin(d, port))
			}
			return slices.Compact(out)
		}
		return &entrance{ln: https.Listen(ln, p.TLS(), 0, log), origins: origins, names: f.Domain, isTLS: true, watch: []func(context.Context){p.Watch}}, nil
	}
	e := &entrance{ln: https.Listen(ln, nil, 0, log), names: slices.Concat(f.Host, f.Domain), isTLS: isProxied, isProxied: isProxied}
	origins := f.plainOrigins(ln.Addr(), port, isProxied)
	e.origins = func() []string { return origins }
	return e, nil
}

// plainOrigins are the addresses that lead to a server without HTTPS of its own.
func (f *httpsFlags) plainOrigins(bound net.Addr, port string, isProxied bool) (out []string) {
	if isProxied {
		for _, d := range f.Domain {
			host, port, _ := https.Authority(d)
			out = append(out, https.Origin(host, cmp.Or(port, "443")))
		}
		return out
	}
	for _, h := range f.Host {
		out = append(out, "http://"+net.JoinHostPort(h, port))
	}
	return append([]string{originOf(bound), "http://127.0.0.1:" + port, "http://[::1]:" + port}, out...)
}

func (f *httpsFlags) openLocal(ln net.Listener, port, dir string, log *slog.Logger) (*entrance, error) {
	l, err := https.OpenLocal(https.LocalOptions{Dir: dir, Hosts: f.Host, Slog: log})
	if err != nil {
		return nil, err
	}
	trustLn, err := net.Listen("tcp", f.TrustAddr)
	if err != nil {
		return nil, fmt.Errorf("the page of trust: %w", err)
	}
	hosts := func() []string { return reachable(l.Hosts(), ln.Addr()) }
	origins := func() (out []string) {
		for _, h := range hosts() {
			out = append(out, https.Origin(h, port))
		}
		return out
	}
	return &entrance{ln: https.Listen(ln, l.TLS(), 0, log), origins: origins, names: f.Host, isTLS: true, ownRoot: true, watch: []func(context.Context){l.Watch},
		trust: &https.Trust{Root: l.Root(), Hosts: hosts, Port: port}, trustLn: trustLn}, nil
}

// reachable leaves out the addresses that a listener bound to one address does not
// hear. Of the others only localhost remains when there is nothing else.
func reachable(hosts []string, bound net.Addr) []string {
	p, err := netip.ParseAddrPort(bound.String())
	if err != nil || p.Addr().IsUnspecified() {
		return hosts
	}
	at := p.Addr().Unmap()
	heard := slices.DeleteFunc(slices.Clone(hosts), func(h string) bool {
		a, err := netip.ParseAddr(h)
		return err == nil && a != at || h == "localhost" && !at.IsLoopback()
	})
	if len(heard) == 0 {
		return hosts
	}
	return heard
}

// start runs what belongs to the entrance until ctx is done.
func (e *entrance) start(ctx context.Context, log *slog.Logger) {
	for _, w := range e.watch {
		go w(ctx)
	}
	if e.trust != nil {
		go func() {
			if err := e.trust.Serve(ctx, e.trustLn, log); err != nil {
				log.Error("the page of trust", slog.Any("error", err))
			}
		}()
	}
}

func (e *entrance) close() {
	e.ln.Close()
	if e.trustLn != nil {
		e.trustLn.Close()
	}
}

// home is the address to give to people.
func (e *entrance) home() string { return e.origins()[0] }

// explain says how the proxy reaches the server, how a phone gets to trust it, and that
// phones cannot work without HTTPS where others can reach a server that has none.
func (e *entrance) explain(s *streams) {
	if at, ok := e.ln.Addr().(*net.TCPAddr); ok && !e.isTLS && !at.IP.IsLoopback() {
		fmt.Fprintf(s.out, needsHTTPS, at.Port)
	}
	if e.isProxied {
		fmt.Fprintf(s.out, "It listens for the proxy at %s. The proxy must say in X-Forwarded-For where each request comes from.\n", e.ln.Addr())
	}
	if e.trust == nil {
		return
	}
	pages := e.trustPages()
	fmt.Fprintf(s.out, "It can also be reached at\n  %s\n", strings.Join(e.origins()[1:], "\n  "))
	fmt.Fprintf(s.out, "A phone must trust the shop's root once. Point its camera at this code, or type the address:\n  %s\n", strings.Join(pages, "\n  "))
	if code, err := qr.Terminal(pages[0], isTerminal(s.out)); err == nil {
		fmt.Fprint(s.out, code)
	}
	print := e.trust.Root.Fingerprint()
	fmt.Fprintf(s.out, "What the phone itself shows of the certificate must be this, all of it:\n  %s\n  SHA-256 %s\n          %s\n", e.trust.Root.Cert.Subject.CommonName, print[:48], print[48:])
}

const needsHTTPS = `CAUTION: phones need HTTPS, and this is plain HTTP: on a phone the app does not start here. End this and choose one:
  serve --https local                 for a network of your own; each phone is led through trusting the server once
  serve --https acme --domain NAME    for a public name whose port 443 leads here
  serve --proxied --domain NAME       behind a proxy that does HTTPS
On this machine itself http://localhost:%d works as it is. README, "Phones and HTTPS", says more.
`

// trustPages are the addresses of the page of trust that another machine can use; those
// of this machine alone when there are no others.
func (e *entrance) trustPages() (pages []string) {
	_, port, _ := net.SplitHostPort(e.trustLn.Addr().String())
	hosts := reachable(e.trust.Hosts(), e.trustLn.Addr())
	others := slices.DeleteFunc(slices.Clone(hosts), func(h string) bool {
		a, err := netip.ParseAddr(h)
		return h == "localhost" || err == nil && a.IsLoopback()
	})
	if len(others) == 0 {
		others = hosts
	}
	for _, h := range others {
		pages = append(pages, "http://"+net.JoinHostPort(h, port)+"/trust/")
	}
	return pages
}

// isTerminal tells whether somebody looks at a window, where colours mean something.
func isTerminal(w io.Writer) bool {
	f, ok := w.(*os.File)
	if !ok {
		return false
	}
	i, err := f.Stat()
	return err == nil && i.Mode()&os.ModeCharDevice != 0
}

// warnOfMove says under which addresses phones synced that do not lead here any more.
func warnOfMove(h *house.House, s *streams) {
	for _, u := range h.Origins.Left("") {
		fmt.Fprintf(s.out, "CAUTION: phones synced at %s until %s, and that address does not lead here now.\n"+
			"  What they have not sent yet stays there: a browser keeps each address apart. Serve at the old address until every\n"+
			"  phone says \"All sent\", then move. README, \"Moving to another address\".\n", u.Origin, time.UnixMilli(u.LastMS).Format("2006-01-02 15:04"))
	}
}

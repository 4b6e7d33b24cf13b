package https

import (
	"context"
	"crypto/tls"
	"fmt"
	"log/slog"
	"net/netip"
	"slices"
	"sync"
	"time"
)

// LocalOptions of a Local. Dir must be set.
type LocalOptions struct {
	Dir   string                       // of root, key and certificate; made with mode 0700
	Hosts []string                     // names and addresses besides the machine's own; see CheckHost
	Now   func() time.Time             // nil: the machine's clock
	Addrs func() ([]netip.Addr, error) // nil: MachineAddrs
	Life  time.Duration                // of a certificate; 0: 397 days
	Slog  *slog.Logger                 // nil: silent
}

// Local serves certificates under the shop's own root. Its methods may be called by
// several goroutines at once.
type Local struct {
	o    LocalOptions
	root *Root

	mu    sync.Mutex // over the making of a new one
	state struct {
		sync.RWMutex
		cert  *tls.Certificate
		hosts []string
	}
}

// OpenLocal reads or makes root and certificate, and proves that a phone which trusts
// the root would take it, before anything is served. Its errors are *HostError,
// *RootError, and those of the disk.
func OpenLocal(o LocalOptions) (*Local, error) {
	o.Now, o.Slog = orNow(o.Now), orSilent(o.Slog)
	if o.Addrs == nil {
		o.Addrs = MachineAddrs
	}
	if o.Life == 0 {
		o.Life = leafLife
	}
	if len(o.Hosts) > HostsMax-len(always) {
		return nil, &HostError{o.Hosts[HostsMax-len(always)], fmt.Sprintf("at most %d hosts", HostsMax-len(always))}
	}
	for _, h := range o.Hosts {
		if err := CheckHost(h); err != nil {
			return nil, err
		}
	}
	root, err := openRoot(o.Dir, o.Now())
	if err != nil {
		return nil, err
	}
	l := &Local{o: o, root: root}
	if left := root.Cert.NotAfter.Sub(o.Now()); left < 365*day {
		o.Slog.Warn("the shop's root ends soon: every phone will have to trust a new one", slog.String("ends", root.Cert.NotAfter.Format(time.DateOnly)))
	}
	return l, l.Renew()
}

// Root is the shop's own root.
func (l *Local) Root() *Root { return l.root }

// Hosts are the names and addresses that the present certificate is for, the given
// ones first.
func (l *Local) Hosts() []string {
	l.state.RLock()
	defer l.state.RUnlock()
	return l.state.hosts
}

func (l *Local) present() (*tls.Certificate, []string) {
	l.state.RLock()
	defer l.state.RUnlock()
	return l.state.cert, l.state.hosts
}

// Renew makes a new certificate if the present one has a third of its life left or
// less, or if this machine's addresses are no longer those it is for. On an error
// the present one stays in use.
func (l *Local) Renew() error {
	l.mu.Lock()
	defer l.mu.Unlock()
	now := l.o.Now()
	addrs, err := l.o.Addrs()
	if err != nil {
		return err
	}
	hosts := hostsOf(l.o.Hosts, addrs)
	cert, was := l.present()
	if cert == nil {
		if cert, err = l.root.keptLeaf(hosts, now); err != nil {
			return err
		}
	} else if !slices.Equal(hosts, was) {
		cert = nil
	}
	if cert == nil || isDue(cert.Leaf, now) {
		if cert, err = l.root.leaf(hosts, now, l.o.Life); err != nil {
			return err
		}
		l.o.Slog.Info("a new certificate", slog.Any("hosts", hosts), slog.Time("ends", cert.Leaf.NotAfter))
	}
	l.state.Lock()
	defer l.state.Unlock()
	l.state.cert, l.state.hosts = cert, hosts
	return nil
}

// Watch looks every minute whether it is time for a new certificate, until ctx is
// done.
func (l *Local) Watch(ctx context.Context) {
	tick := time.NewTicker(time.Minute)
	defer tick.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
			if err := l.Renew(); err != nil {
				l.o.Slog.Error("no new certificate", slog.Any("error", err))
			}
		}
	}
}

// TLS is the configuration to serve with. Each handshake gets the present
// certificate; one that is due is renewed first.
func (l *Local) TLS() *tls.Config {
	return config(func(*tls.ClientHelloInfo) (*tls.Certificate, error) {
		cert, _ := l.present()
		if isDue(cert.Leaf, l.o.Now()) {
			if err := l.Renew(); err != nil {
				l.o.Slog.Error("no new certificate", slog.Any("error", err))
			}
			cert, _ = l.present()
		}
		return cert, nil
	})
}

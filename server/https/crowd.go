package https

import (
	"errors"
	"net"
	"net/netip"
	"sync"
	"sync/atomic"
	"time"
)

// ConnsMax is how many connections are open at once unless told otherwise. A shop's
// phones hold one or two each; fewer when the system allows fewer open files.
const ConnsMax = 4096

// filesKept are open files for the store and everything else.
const filesKept = 256

// crowd holds down the number of connections. Nobody is turned away: when it is full,
// the newcomer takes the place of somebody from the address that holds the most, first
// of one that never got an answer, the longest there; then of the one that has been
// still for the longest. So a machine that opens thousands only closes its own.
type crowd struct {
	net.Listener
	most    int
	isPlain bool // without TLS: whatever is written is an answer

	mu   sync.Mutex
	open map[*guest]struct{}
	from map[netip.Prefix]int
}

func newCrowd(ln net.Listener, most int, isPlain bool) *crowd {
	if most == 0 {
		most = ConnsMax
	}
	if files := filesMax(); files > 0 {
		most = max(16, min(most, files-filesKept))
	}
	return &crowd{Listener: ln, most: most, isPlain: isPlain, open: map[*guest]struct{}{}, from: map[netip.Prefix]int{}}
}

// guest is one connection of a crowd.
type guest struct {
	net.Conn
	crowd      *crowd
	home       netip.Prefix
	came       int64        // ns, monotonic
	moved      atomic.Int64 // ns, monotonic: the last byte in or out
	isShaken   atomic.Bool  // what is written from now on is an answer
	isAnswered atomic.Bool
	once       sync.Once
}

// Accept never gives up but when the listener is closed: out of open files, it closes
// somebody's connection and tries again.
func (c *crowd) Accept() (net.Conn, error) {
	for {
		conn, err := c.Listener.Accept()
		if err == nil {
			return c.add(conn), nil
		}
		if errors.Is(err, net.ErrClosed) {
			return nil, err
		}
		if victim := c.next(); victim != nil {
			victim.Close()
		}
		time.Sleep(acceptWait)
	}
}

// start is where the clock of this package's connections begins.
var start = time.Now()

func (c *crowd) add(conn net.Conn) *guest {
	g := &guest{Conn: conn, crowd: c, home: homeOf(conn.RemoteAddr()), came: int64(time.Since(start))}
	g.moved.Store(g.came)
	g.isShaken.Store(c.isPlain)
	if victim := c.admit(g); victim != nil {
		victim.Close()
	}
	return g
}

// admit counts a connection in, and out the one that must make room for it; nil when
// there is room.
func (c *crowd) admit(g *guest) (victim *guest) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if len(c.open) >= c.most {
		victim = c.worst()
		c.forget(victim)
	}
	c.open[g] = struct{}{}
	c.from[g.home]++
	return victim
}

// next is worst for who does not hold c.mu.
func (c *crowd) next() *guest {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.worst()
}

// homeOf is where a connection comes from.
func homeOf(a net.Addr) netip.Prefix {
	p, err := netip.ParseAddrPort(a.String())
	if err != nil {
		return netip.Prefix{}
	}
	return Home(p.Addr())
}

// Home is what counts as one sender: an IPv4 address, or the /64 that one household has
// of IPv6.
func Home(a netip.Addr) netip.Prefix {
	a = a.Unmap().WithZone("")
	bits := 32
	if a.Is6() {
		bits = 64
	}
	home, _ := a.Prefix(bits)
	return home
}

// worst is who goes next; nil when nobody is there. c.mu is held.
func (c *crowd) worst() *guest {
	var home netip.Prefix
	most := 0
	for h, n := range c.from {
		if n > most {
			home, most = h, n
		}
	}
	var worst *guest
	for g := range c.open {
		if g.home == home && (worst == nil || g.goesBefore(worst)) {
			worst = g
		}
	}
	return worst
}

func (g *guest) goesBefore(o *guest) bool {
	if a, b := g.isAnswered.Load(), o.isAnswered.Load(); a != b {
		return b
	} else if !a {
		return g.came < o.came
	}
	return g.moved.Load() < o.moved.Load()
}

// forget counts a connection out, once. c.mu is held.
func (c *crowd) forget(g *guest) {
	if g == nil {
		return
	}
	if _, ok := c.open[g]; !ok {
		return
	}
	delete(c.open, g)
	if c.from[g.home]--; c.from[g.home] == 0 {
		delete(c.from, g.home)
	}
}

func (g *guest) Read(b []byte) (int, error) {
	n, err := g.Conn.Read(b)
	if n > 0 {
		g.moved.Store(int64(time.Since(start)))
	}
	return n, err
}

func (g *guest) Write(b []byte) (int, error) {
	n, err := g.Conn.Write(b)
	if n > 0 {
		g.moved.Store(int64(time.Since(start)))
		if g.isShaken.Load() {
			g.isAnswered.Store(true)
		}
	}
	return n, err
}

func (g *guest) Close() error {
	g.once.Do(func() {
		g.crowd.mu.Lock()
		defer g.crowd.mu.Unlock()
		g.crowd.forget(g)
	})
	return g.Conn.Close()
}

// Package api is the server's HTTP side: the phone's program, the sync of entries,
// signing in, and exports. A handler decodes, calls one function and encodes; the
// rules of the shop live in package shop, the log in package store.
package api

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"log/slog"
	"net"
	"net/netip"
	"time"

	"hoppertally/server/auth"
	"hoppertally/server/books"
	"hoppertally/server/budget"
	"hoppertally/server/https"

	"github.com/gofiber/fiber/v2"
	"github.com/gofiber/fiber/v2/middleware/recover"
)

// Limits of a request.
const (
	BodyMax     = 2560 << 10 // bytes, also after unpacking: what a packed body can cost us
	bodySlack   = 4 << 20    // read beyond it, so that the answer is a problem and not a cut connection
	EntriesMax  = 4096       // of one push
	PageMax     = 4096       // entries of one pull
	pageBytes   = 2 << 20    // of their raw bytes; one larger entry goes alone
	packFrom    = 1 << 10    // bytes of an answer that is worth packing
	headerMax   = 16 << 10   // bytes; a token in a header alone can have 1 KB
	readMax     = 30 * time.Second
	idleMax     = 90 * time.Second
	streamsMax  = 2000 // phones that listen for news at once
	guestsMax   = 64   // of them not signed in
	ownMax      = 40   // and of one person: 20 sessions, each with a stream that the server has not missed yet
	connsMax    = 8192 // connections at once; one more is told to come back
	shutdownMax = 5 * time.Second
)

// Config is what a server is made of. All but Log's zero value must be set.
type Config struct {
	Log     Log
	Books   *books.Books
	Auth    *auth.Auth
	Desk    *books.Desk
	Origins *https.Origins // where phones sign in
	Names   []string       // names and addresses that lead here, besides localhost and the machine's own addresses
	Home    func() string  // the address that people are given, such as https://hopper.lan:8377
	Shell   fs.FS          // the phone's program, rooted at its index.html
	Slog    *slog.Logger
	Version string // of this program: what a phone should run
	IsTLS   bool   // the phone sees HTTPS
	Proxied bool   // a proxy of ours is in front: what it says of the sender holds
	OwnRoot bool   // under a root of the shop's own

	MetricsFrom []netip.Prefix // who may read /metrics besides this machine

	Beat time.Duration // between signs of life on a stream of news; 0: 20 s
	Now  func() time.Time
}

// Server answers requests. Use [New].
type Server struct {
	Config
	app       *fiber.App
	log       *slog.Logger
	serverID  string
	isTLS     bool
	names     map[string]bool // that lead here
	shell     map[string]*file
	metrics   *metrics
	snapshots snapshots
	listeners listeners
	people    *budget.Budgets // requests of those who are signed in, by person
	strangers *budget.Budgets // and of all others, by where they come from
	refusals  *budget.Budgets // on the record, by where they come from
}

// New makes a server; it does not listen yet.
func New(cfg Config) (*Server, error) {
	shell, err := readShell(cfg.Shell)
	if err != nil {
		return nil, err
	}
	if cfg.Beat == 0 {
		cfg.Beat = 20 * time.Second
	}
	if cfg.Now == nil {
		cfg.Now = time.Now
	}
	s := &Server{Config: cfg, log: cfg.Slog, serverID: cfg.Log.ServerID(), isTLS: cfg.IsTLS, shell: shell, names: map[string]bool{}, people: budget.New(rateBurst, rateEvery), strangers: budget.New(rateBurst, rateEvery), refusals: budget.New(refusalBurst, refusalEvery), listeners: listeners{of: map[string][]*listener{}}}
	for _, name := range cfg.Names {
		host, _, ok := https.Authority(name)
		if !ok {
			return nil, fmt.Errorf("%q is not a name of a server", name)
		}
		s.names[host] = true
	}
	s.metrics = newMetrics(s)
	s.app = fiber.New(fiber.Config{
		AppName: "hoppertally", DisableStartupMessage: true, CaseSensitive: true, StrictRouting: true,
		BodyLimit: BodyMax + bodySlack, ReadBufferSize: headerMax, ReadTimeout: readMax, IdleTimeout: idleMax,
		Concurrency: connsMax, WriteTimeout: 0, // it would cut the streams of news
		// Buffers go back while a connection has nothing to say: 500 streams of news would
		// keep 16 KB each for nothing.
		ReduceMemoryUsage: true,
		ErrorHandler:      s.onError,
	})
	s.app.Use(s.observe, recover.New(), s.setHead, s.ours)
	for _, r := range s.routes() {
		s.app.Add(r.method, r.path, s.guard(r))
	}
	s.app.Use(s.page)
	return s, nil
}

// Serve answers on ln until ctx is done, then lets requests end for a moment.
func (s *Server) Serve(ctx context.Context, ln net.Listener) error {
	failed := make(chan error, 1)
	go func() { failed <- s.app.Listener(ln) }()
	select {
	case err := <-failed:
		return fmt.Errorf("listen on %s: %w", ln.Addr(), err)
	case <-ctx.Done():
	}
	if err := s.app.ShutdownWithTimeout(shutdownMax); err != nil && !errors.Is(err, context.DeadlineExceeded) {
		return fmt.Errorf("shut down: %w", err)
	}
	return nil
}

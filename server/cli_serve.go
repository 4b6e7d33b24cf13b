package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"log/slog"
	"net"
	"net/netip"
	"os"
	"path/filepath"
	_ "time/tzdata" // a bare machine has no time zones

	"hoppertally/pwa"
	"hoppertally/server/api"
	"hoppertally/server/house"
	"hoppertally/server/https"
	"hoppertally/server/store"
)

type serveCmd struct {
	Data        string `default:"data" type:"path" help:"Folder that holds the shop's data; made if it is not there."`
	Addr        string `help:"Address to listen on. By default 127.0.0.1:8377 without HTTPS, port 8377 of every address with --https local, port 443 with --https acme."`
	httpsFlags  `embed:""`
	Proxied     bool           `help:"A proxy in front speaks HTTPS with the phones: cookies and headers say so."`
	MetricsFrom []netip.Prefix `help:"Who may read /metrics besides this machine: a range of addresses such as 192.168.1.0/24 or 192.168.1.20/32; repeatable."`
	Log         string         `default:"info" enum:"debug,info,warn,error" help:"How much to log to standard error: debug, info, warn or error."`
	AcceptLoss  bool           `help:"Serve a log that lost its tail, or a folder older than its newest backup, and let the phones fill it up again. Read what it says first."`

	Backup backupPlan `embed:"" prefix:"backup-"`
}

func (c serveCmd) Run(ctx context.Context, s *streams) error {
	if err := c.check(c.Proxied); err != nil {
		return err
	}
	if c.Addr == "" {
		c.Addr = c.addr()
	}
	log := newLog(s.err, c.Log)
	careful(c.Data, log)
	h, err := openHouse(c.Data, house.Options{Slog: log, AcceptLoss: c.AcceptLoss})
	if err != nil {
		return err
	}
	defer closeHouse(h, log)
	leave, err := attend(ctx, h, c.Data, c.Backup, c.AcceptLoss, log)
	if err != nil {
		return err
	}
	defer leave()
	ln, err := net.Listen("tcp", c.Addr)
	if err != nil {
		return err
	}
	e, err := c.open(ln, c.Data, c.Proxied, log)
	if err != nil {
		ln.Close()
		if host := (*https.HostError)(nil); errors.As(err, &host) {
			return &exit{exitUsage, err}
		}
		return err
	}
	h.Origins.Serve(e.origins)
	origin := e.home()
	fmt.Fprintf(s.out, "hoppertally %s is at %s, data in %s\n", version, origin, c.Data)
	e.explain(s)
	warnOfMove(h, s)
	if code := h.Auth.SetUpCode(); code != "" {
		offerSetUp(s.out, origin, code)
	}
	e.metricsFrom = c.MetricsFrom
	return listen(ctx, h, e, log)
}

// careful says what makes a server easier to break into than it needs to be, and shuts
// a data folder that others on the machine can read.
func careful(dir string, log *slog.Logger) {
	if os.Geteuid() == 0 {
		log.Warn("running as root: make a user for it, see `hoppertally service`")
	}
	info, err := os.Stat(dir)
	if err != nil || info.Mode().Perm()&0o077 == 0 {
		return
	}
	if err := os.Chmod(dir, 0o700); err != nil {
		log.Warn("others on this machine can look into the data folder", slog.String("data", dir), slog.Any("error", err))
		return
	}
	log.Warn("others on this machine could look into the data folder; now they cannot", slog.String("data", dir))
}

// shopIn refuses a folder without a shop's data: a mistyped name must not make a shop
// where one is looked for.
func shopIn(dir string) error {
	_, err := os.Stat(filepath.Join(dir, "badger"))
	if errors.Is(err, fs.ErrPermission) {
		return advise(&store.AccessError{Path: dir, Err: err}, dir)
	}
	if err != nil {
		return &exit{exitUsage, fmt.Errorf("no shop's data in %s", dir)}
	}
	return nil
}

// openHouse opens a data folder and says what can be done when that fails.
func openHouse(dir string, o house.Options) (*house.House, error) {
	h, err := house.Open(dir, o)
	if err != nil {
		return nil, cannotOpen(err, dir)
	}
	return h, nil
}

func cannotOpen(err error, dir string) error {
	if errors.Is(err, store.ErrInUse) {
		return fmt.Errorf("the folder %s is in use: stop the server that runs on it first", dir)
	}
	return advise(err, dir)
}

func closeHouse(h *house.House, log *slog.Logger) {
	if err := h.Close(); err != nil {
		log.Error("close the store", slog.Any("error", err))
	}
}

// listen serves until ctx is done.
func listen(ctx context.Context, h *house.House, e *entrance, log *slog.Logger) error {
	defer e.close()
	srv, err := api.New(api.Config{Log: h, Books: h.Books, Auth: h.Auth, Desk: h.Desk, Origins: h.Origins, Shell: pwa.Files(), Slog: log, Version: version,
		Names: e.names, Home: e.home, MetricsFrom: e.metricsFrom, IsTLS: e.isTLS, Proxied: e.isProxied, OwnRoot: e.ownRoot})
	if err != nil {
		return err
	}
	if e.trust != nil {
		e.trust.Shop = h.Books.ShopName
	}
	e.start(ctx, log)
	return srv.Serve(ctx, e.ln)
}

func newLog(w io.Writer, level string) *slog.Logger {
	var l slog.Level
	if err := l.UnmarshalText([]byte(level)); err != nil {
		panic("hoppertally: log level: " + err.Error()) // the command line allows four words
	}
	return slog.New(slog.NewTextHandler(w, &slog.HandlerOptions{Level: l}))
}

// originOf is the address to type on this machine. Browsers trust the name
// localhost, as they do HTTPS.
func originOf(a net.Addr) string {
	host, port, err := net.SplitHostPort(a.String())
	if err != nil {
		return "http://" + a.String()
	}
	if ip := net.ParseIP(host); ip == nil || ip.IsLoopback() || ip.IsUnspecified() {
		host = "localhost"
	}
	return "http://" + net.JoinHostPort(host, port)
}

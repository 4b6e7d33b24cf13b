package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"os"
	"path/filepath"
	_ "time/tzdata" // a bare machine has no time zones

	"hoppertally/pwa"
	"hoppertally/server/api"
	"hoppertally/server/house"
	"hoppertally/server/store"
)

type serveCmd struct {
	Data       string `default:"data" type:"path" help:"Folder that holds the shop's data; made if it is not there."`
	Addr       string `default:"127.0.0.1:8377" help:"Address to listen on. Phones reach other machines' addresses only over HTTPS: put a proxy in front."`
	HTTPS      string `name:"https" default:"off" enum:"off" help:"Only off for now: plain HTTP, for this machine itself or behind a proxy that does HTTPS. Own certificates (local) and public ones (acme) are not in this version."`
	Proxied    bool   `help:"A proxy in front speaks HTTPS with the phones: cookies and headers say so."`
	Log        string `default:"info" enum:"debug,info,warn,error" help:"How much to log to standard error: debug, info, warn or error."`
	AcceptLoss bool   `help:"Open a log that lost its tail, and let the phones fill it up again. Read what verify says first."`
}

func (c serveCmd) Run(ctx context.Context, s *streams) error {
	log := newLog(s.err, c.Log)
	h, err := openHouse(c.Data, house.Options{Slog: log, AcceptLoss: c.AcceptLoss})
	if err != nil {
		return err
	}
	defer closeHouse(h, log)
	ln, err := net.Listen("tcp", c.Addr)
	if err != nil {
		return err
	}
	origin := originOf(ln.Addr())
	fmt.Fprintf(s.out, "hoppertally %s is at %s, data in %s\n", version, origin, c.Data)
	if code := h.Auth.SetUpCode(); code != "" {
		fmt.Fprintf(s.out, "Nobody is in charge yet. Set the shop up once, with this code:\n  %s\n  %s/#setup=%s\n", code, origin, code)
	}
	return listen(ctx, h, ln, log, c.Proxied)
}

// openHouse opens a data folder and says what can be done when that fails.
func openHouse(dir string, o house.Options) (*house.House, error) {
	h, err := house.Open(dir, o)
	var lost *store.TailLostError
	switch {
	case errors.Is(err, store.ErrInUse):
		return nil, fmt.Errorf("the folder %s is in use: stop the server that runs on it first", dir)
	case errors.As(err, &lost):
		return nil, fmt.Errorf("%w; restore a backup, or serve with --accept-loss and let the phones send again what they have", err)
	}
	return h, err
}

func closeHouse(h *house.House, log *slog.Logger) {
	if err := h.Close(); err != nil {
		log.Error("close the store", slog.Any("error", err))
	}
}

// listen serves until ctx is done.
func listen(ctx context.Context, h *house.House, ln net.Listener, log *slog.Logger, isTLS bool) error {
	srv, err := api.New(api.Config{Log: h, Books: h.Books, Auth: h.Auth, Desk: h.Desk, Shell: pwa.Files(), Slog: log, Version: version, IsTLS: isTLS, Proxied: isTLS})
	if err != nil {
		return errors.Join(err, ln.Close())
	}
	return srv.Serve(ctx, ln)
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

type verifyCmd struct {
	Data string `default:"data" type:"path" help:"Folder that holds the shop's data."`
}

// Run checks the disk's records and their hashes, folds all of them and proves the
// invariants of the books, twice: two folds of one log must agree.
func (c verifyCmd) Run(ctx context.Context, s *streams) error {
	if _, err := os.Stat(filepath.Join(c.Data, "badger")); err != nil {
		return &exit{exitUsage, fmt.Errorf("no shop's data in %s", c.Data)}
	}
	h, err := openHouse(c.Data, house.Options{Slog: newLog(s.err, "warn")})
	if err != nil {
		return err
	}
	defer h.Close()
	if err := h.Verify(ctx); err != nil {
		return err
	}
	hash, n, err := h.Books.Check()
	if err != nil {
		return fmt.Errorf("the books do not add up: %w", err)
	}
	again, err := h.Refold()
	if err != nil {
		return err
	}
	if again != hash {
		return fmt.Errorf("two folds of one log differ: %s and %s", hash, again)
	}
	refused, err := h.Quarantine(1000)
	if err != nil {
		return err
	}
	fmt.Fprintf(s.out, "log       %d entries in epoch %s, every hash right\nbooks     %d entries folded, in balance to the milligram\nstate     %s\nattention %d\nrefused   %d kept in quarantine\n",
		h.Head(), h.Epoch(), n, hash, h.Books.Open(), len(refused))
	return nil
}

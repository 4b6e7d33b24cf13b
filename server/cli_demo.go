package main

import (
	"context"
	"errors"
	"fmt"
	"net"
	"os"
	"slices"
	"strconv"
	"strings"
	"time"

	"hoppertally/server/demo"
	"hoppertally/server/house"
	"hoppertally/server/store"
	"hoppertally/sync/entry"
	"hoppertally/sync/hub"
)

type demoCmd struct {
	Port int    `default:"8377" help:"Port on this machine; 0 takes a free one."`
	Data string `type:"path" help:"Folder for its data. Without it: a fresh one that is removed at the end."`
	Log  string `default:"warn" enum:"debug,info,warn,error" help:"How much to log to standard error: debug, info, warn or error."`
}

func (c demoCmd) Run(ctx context.Context, s *streams) (err error) {
	dir := c.Data
	if dir == "" {
		if dir, err = os.MkdirTemp("", "hoppertally-demo-"); err != nil {
			return err
		}
		defer func() { err = errors.Join(err, os.RemoveAll(dir)) }()
	}
	log := newLog(s.err, c.Log)
	h, err := openHouse(dir, house.Options{Slog: log})
	if err != nil {
		return err
	}
	defer closeHouse(h, log)
	own, err := h.HaveN(demo.Device)
	if err != nil {
		return err
	}
	switch {
	case h.Head() == 0:
		if err := loadDemo(ctx, h, time.Now()); err != nil {
			return err
		}
	case h.Auth.NeedsSetUp():
		return fmt.Errorf("%s holds a shop that nobody has set up, or a demo that was cut off while it was made: take another folder", dir)
	case own == 0: // its links would sign anybody in to somebody's real shop
		return fmt.Errorf("%s holds a shop of your own, not the demo: serve it with `hoppertally serve --data %s`", dir, dir)
	}
	leave, err := attend(ctx, h, dir, backupPlan{}, false, log)
	if err != nil {
		return err
	}
	defer leave()
	ln, err := net.Listen("tcp", net.JoinHostPort("127.0.0.1", strconv.Itoa(c.Port)))
	if err != nil {
		return err
	}
	if err := invite(h, s, originOf(ln.Addr())); err != nil {
		return errors.Join(err, ln.Close())
	}
	e, err := (&httpsFlags{HTTPS: "off"}).open(ln, dir, false, log)
	if err != nil {
		return errors.Join(err, ln.Close())
	}
	h.Origins.Serve(e.origins)
	return listen(ctx, h, e, log)
}

// loadDemo hands the invented shop's entries in, each in the name of its author.
func loadDemo(ctx context.Context, h *house.House, now time.Time) error {
	raws, err := demo.Entries(now)
	if err != nil {
		return err
	}
	var p entry.Parser
	for i := 0; i < len(raws); {
		e, err := p.Parse(raws[i])
		if err != nil {
			return fmt.Errorf("demo: %w", err)
		}
		req := store.PushRequest{Author: e.By, Device: e.Device}
		for by := e.By; i < len(raws); i++ {
			if e, err = p.Parse(raws[i]); err != nil {
				return fmt.Errorf("demo: %w", err)
			}
			if e.By != by {
				break
			}
			req.Entries = append(req.Entries, raws[i])
		}
		results, err := h.Push(ctx, req)
		if err != nil {
			return err
		}
		for _, r := range results {
			if r.Outcome != hub.Accepted {
				return fmt.Errorf("demo: entry %s is %s: %s", r.ID, r.Outcome, r.Reason)
			}
		}
	}
	return h.Auth.MarkSetUp()
}

// invite prints a link for one person of each role. The codes work again and
// again, on this machine only.
func invite(h *house.House, s *streams, origin string) error {
	fmt.Fprintf(s.out, "hoppertally %s shows an invented shop at %s\nOpen one of these; Ctrl-C ends it.\n", version, origin)
	people := h.Books.People()
	for _, role := range []string{"coater", "clerk", "manager"} {
		i := slices.IndexFunc(people, func(p personOf) bool { return p.Role == role && !p.Gone })
		if i < 0 {
			return fmt.Errorf("demo: the shop has no %s", role)
		}
		code, err := h.Auth.DemoCode(people[i].ID)
		if err != nil {
			return err
		}
		fmt.Fprintf(s.out, "  %-8s %-14s %s/#in=%s\n", role, people[i].Name, origin, strings.ToUpper(code))
	}
	return nil
}

package main

import (
	"bufio"
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"hoppertally/server/auth"
	"hoppertally/server/house"
)

type personOf = auth.Person

type personCmd struct {
	Data   string           `default:"data" type:"path" help:"Folder that holds the shop's data."`
	List   personListCmd    `cmd:"" help:"Who works here, in which role, signed in on how many devices."`
	Add    personAddCmd     `cmd:"" help:"Add somebody and print the code that signs them in."`
	Invite personInviteCmd  `cmd:"" help:"Print a code that signs somebody in, once, within three days."`
	Pass   personPassCmd    `cmd:"" name:"passphrase" help:"Set somebody's passphrase: one line on standard input."`
	Out    personSignOutCmd `cmd:"" name:"sign-out" help:"End all sessions of somebody."`
}

// with opens the folder of a shop for one piece of work.
func (c *personCmd) with(s *streams, work func(*house.House) error) error {
	if err := shopIn(c.Data); err != nil {
		return err
	}
	return c.open(s, work)
}

// open is with, and makes the folder if it is not there.
func (c *personCmd) open(s *streams, work func(*house.House) error) error {
	h, err := openHouse(c.Data, house.Options{Slog: newLog(s.err, "warn")})
	if err != nil {
		return err
	}
	return errors.Join(work(h), h.Close())
}

// about is with for work on one person; see find.
func (c *personCmd) about(s *streams, who string, work func(*house.House, personOf) error) error {
	return c.with(s, func(h *house.House) error {
		p, err := find(h, who)
		if err != nil {
			return err
		}
		return work(h, p)
	})
}

// find takes a person by id or by name.
func find(h *house.House, who string) (personOf, error) {
	if p, ok := h.Books.Person(who); ok {
		return p, nil
	}
	if p, ok := h.Books.Named(who); ok {
		return p, nil
	}
	return personOf{}, &exit{exitUsage, fmt.Errorf("nobody here is called %q, or two are; `hoppertally person list` shows everybody", who)}
}

// listed is everybody in the order of their names.
func listed(h *house.House) []personOf {
	people := h.Books.People()
	slices.SortFunc(people, func(a, b personOf) int { return cmp.Or(cmp.Compare(a.Name, b.Name), cmp.Compare(a.ID, b.ID)) })
	return people
}

type personListCmd struct{}

func (personListCmd) Run(c *cli, s *streams) error {
	return c.Person.with(s, func(h *house.House) error {
		for _, p := range listed(h) {
			role := p.Role
			if p.Gone {
				role = "left"
			}
			fmt.Fprintf(s.out, "%-36s  %-8s  %2d sessions  %s\n", p.ID, role, len(h.Auth.Sessions(p.ID)), p.Name)
		}
		return nil
	})
}

type personAddCmd struct {
	Name string `arg:"" help:"Name as it shows on the screens."`
	Role string `required:"" enum:"coater,clerk,manager" help:"coater, clerk or manager."`
}

// Run makes a shop where there is none, for its first manager only, and says so.
func (a personAddCmd) Run(ctx context.Context, c *cli, s *streams) error {
	if err := shopIn(c.Person.Data); err != nil {
		if a.Role != "manager" {
			return &exit{exitUsage, fmt.Errorf("%w; a new one begins with a manager: the first person must be a manager", err)}
		}
		fmt.Fprintf(s.out, "A new shop in %s\n", c.Person.Data)
	}
	return c.Person.open(s, func(h *house.House) error {
		by := ""
		for _, p := range listed(h) {
			if p.Role == "manager" && !p.Gone {
				by = p.ID
				break
			}
		}
		if by == "" && a.Role != "manager" {
			return &exit{exitUsage, errors.New("the first person must be a manager")}
		}
		p, err := h.Desk.AddPerson(ctx, by, strings.TrimSpace(a.Name), a.Role)
		if err != nil {
			return err
		}
		if a.Role == "manager" {
			if err := h.Auth.MarkSetUp(); err != nil {
				return err
			}
		}
		return printInvite(h, s, p)
	})
}

type personInviteCmd struct {
	Person string `arg:"" help:"Id or name."`
}

func (a personInviteCmd) Run(c *cli, s *streams) error {
	return c.Person.about(s, a.Person, func(h *house.House, p personOf) error {
		return printInvite(h, s, p)
	})
}

func printInvite(h *house.House, s *streams, p personOf) error {
	code, until, err := h.Auth.Invite(p.ID)
	if err != nil {
		return err
	}
	fmt.Fprintf(s.out, "%s, %s, signs in once until %s with\n  %s\nor at the server's address followed by\n  /#in=%s\n", p.Name, p.Role, until.Format(time.RFC1123), code, code)
	return nil
}

type personPassCmd struct {
	Person string `arg:"" help:"Id or name."`
}

func (a personPassCmd) Run(c *cli, s *streams) error {
	return c.Person.about(s, a.Person, func(h *house.House, p personOf) error {
		line, err := bufio.NewReader(s.in).ReadString('\n')
		if err != nil && line == "" {
			return &exit{exitUsage, errors.New("no passphrase came on standard input")}
		}
		if err := h.Auth.SetPassphrase(p.ID, strings.TrimRight(line, "\r\n")); err != nil {
			return &exit{exitUsage, fmt.Errorf("a passphrase has %d to %d characters: %w", auth.PassphraseMin, auth.PassphraseMax, err)}
		}
		fmt.Fprintf(s.out, "%s has a new passphrase\n", p.Name)
		return nil
	})
}

type personSignOutCmd struct {
	Person string `arg:"" help:"Id or name."`
}

func (a personSignOutCmd) Run(c *cli, s *streams) error {
	return c.Person.about(s, a.Person, func(h *house.House, p personOf) error {
		list := h.Auth.Sessions(p.ID)
		for _, one := range list {
			if err := h.Auth.End(p.ID, one.ID); err != nil {
				return err
			}
		}
		fmt.Fprintf(s.out, "%d sessions of %s ended\n", len(list), p.Name)
		return nil
	})
}

package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"runtime/debug"

	"github.com/alecthomas/kong"
)

// Exit codes.
const (
	exitOK     = 0
	exitFailed = 1 // the world: disk, network, a store that does not hold together
	exitUsage  = 2 // the command line or an input makes no sense
	exitLines  = 3 // replay: some lines were malformed and left out
)

// version is set by the build: -ldflags "-X main.version=1.2.3".
var version = "dev"

// cli is the command line. Each command is a struct with a Run method.
type cli struct {
	Serve   serveCmd   `cmd:"" help:"Serve the shop: phones, sync and the office."`
	Demo    demoCmd    `cmd:"" help:"Serve an invented shop with four days of work, to look around in."`
	Calc    calcCmd    `cmd:"" help:"Work something out: JSON in on standard input, JSON out. Without a name: list what there is."`
	Replay  replayCmd  `cmd:"" help:"Fold a file of entries, one JSON object a line in any order, and print the state of the shop."`
	Backup  backupCmd  `cmd:"" help:"Write a backup of everything into one file and read it back, also while the server runs."`
	Restore restoreCmd `cmd:"" help:"Make a data folder anew from a backup."`
	Verify  verifyCmd  `cmd:"" help:"Check a data folder, or rehearse the restore of a backup: every record, every hash, and that the books add up."`
	Person  personCmd  `cmd:"" help:"People: list, add, invite, set a passphrase, end sessions. The server must not be running on the folder."`
	Service serviceCmd `cmd:"" help:"Print or install a systemd unit that runs serve as a user of its own, locked in."`
	Version versionCmd `cmd:"" help:"Print the version."`
}

// streams are what a command reads and writes.
type streams struct {
	in       io.Reader
	out, err io.Writer
}

// exit ends a command with a code other than 1. err may be nil: all was said.
type exit struct {
	code int
	err  error
}

func (e *exit) Error() string {
	if e.err == nil {
		return fmt.Sprintf("exit %d", e.code)
	}
	return e.err.Error()
}

// helped is how kong's --help leaves the parser.
type helped struct{}

// run is the program: it gives the exit code and touches nothing but its arguments.
func run(ctx context.Context, args []string, stdin io.Reader, stdout, stderr io.Writer) (code int) {
	defer func() {
		if r := recover(); r != nil {
			if _, ok := r.(helped); !ok {
				panic(r)
			}
		}
	}()
	s := &streams{stdin, stdout, stderr}
	if name, ok := calcHelp(args); ok {
		return s.end(describeCalc(s, name))
	}
	var c cli
	parser, err := kong.New(&c, kong.Name("hoppertally"),
		kong.Description("Keeps the books of a powder coating shop, to the milligram: colour changes, reclaim, stock and where every kilogram went."),
		kong.Writers(stdout, stderr), kong.Exit(func(int) { panic(helped{}) }), kong.ConfigureHelp(kong.HelpOptions{Compact: true}),
		kong.BindTo(ctx, (*context.Context)(nil)), kong.Bind(s, &c))
	if err != nil {
		panic("hoppertally: the command line is declared wrong: " + err.Error())
	}
	if len(args) == 0 {
		args = []string{"--help"}
	}
	k, err := parser.Parse(args)
	if err != nil {
		fmt.Fprintf(stderr, "hoppertally: %v\n`hoppertally --help` lists what there is.\n", err)
		return exitUsage
	}
	return s.end(k.Run())
}

// end says what went wrong and gives the exit code.
func (s *streams) end(err error) int {
	var e *exit
	switch {
	case err == nil:
		return exitOK
	case errors.As(err, &e):
		if e.err != nil {
			fmt.Fprintf(s.err, "hoppertally: %v\n", e.err)
		}
		return e.code
	}
	fmt.Fprintf(s.err, "hoppertally: %v\n", err)
	return exitFailed
}

// print writes a value as indented JSON.
func (s *streams) print(v any) error {
	e := json.NewEncoder(s.out)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	return e.Encode(v)
}

type versionCmd struct{}

func (versionCmd) Run(s *streams) error {
	fmt.Fprintf(s.out, "hoppertally %s\n", version)
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return nil
	}
	fmt.Fprintf(s.out, "  %s\n", info.GoVersion)
	for _, kv := range info.Settings {
		switch kv.Key {
		case "vcs.revision", "vcs.time", "vcs.modified", "GOOS", "GOARCH":
			fmt.Fprintf(s.out, "  %s %s\n", kv.Key, kv.Value)
		}
	}
	return nil
}

// Command hoppertally is the whole server in one program, with the phone's program
// inside. `hoppertally --help` lists what it does.
package main

import (
	"context"
	"os"
	"os/signal"
	"runtime/debug"
	"syscall"
)

// mainGCPercent trades a little time for memory: a third of what lives may be waste,
// where Go lets as much again be. The collector takes 4 % of the time under make load.
const mainGCPercent = 33

func main() {
	if os.Getenv("GOGC") == "" {
		debug.SetGCPercent(mainGCPercent)
	}
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	code := run(ctx, os.Args[1:], os.Stdin, os.Stdout, os.Stderr)
	stop()
	os.Exit(code)
}

package main

import (
	"fmt"
	"os"
	"runtime/debug"

	"hoppertally/domain/shop"
	"hoppertally/server/replay"
)

type replayCmd struct {
	File string `arg:"" help:"File of entries, one a line; - reads standard input. Written by hand, a line needs at, kind and body only."`
}

// Run prints what the entries mean, see package replay.
func (c replayCmd) Run(s *streams) error {
	in := s.in
	if c.File != "-" {
		f, err := os.Open(c.File)
		if err != nil {
			return &exit{exitUsage, err}
		}
		defer f.Close()
		in = f
	}
	defer debug.SetGCPercent(debug.SetGCPercent(gcPercent))
	got, err := replay.Fold(in, func(line int64, fault error) { fmt.Fprintf(s.err, "line %d: %v\n", line, fault) })
	if err != nil {
		return fmt.Errorf("read %s: %w", c.File, err)
	}
	if err := got.State.Check(); err != nil {
		return fmt.Errorf("the books do not add up: %w", err)
	}
	if err := s.print(reportOf(got)); err != nil {
		return err
	}
	if got.Bad > 0 {
		return &exit{exitLines, fmt.Errorf("%d malformed lines left out", got.Bad)}
	}
	return nil
}

// gcPercent keeps the memory of a replay near what it holds: nearly all of it are
// records without pointers, so that a collection costs little.
const gcPercent = 40

// reportOf is the report of the state, and with it the entries that this program
// is too old to fold.
func reportOf(r replay.Result) shop.Report {
	out := r.State.Report()
	for _, e := range r.Newer {
		out.Attention = append(out.Attention, shop.ReportIssue{Code: "newer_version", Entry: e.ID, Text: fmt.Sprintf("newer_version %s v%d", e.Kind, e.V)})
	}
	return out
}

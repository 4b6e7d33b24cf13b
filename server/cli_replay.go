package main

import (
	"fmt"
	"io"
	"os"

	"hoppertally/domain/shop"
	"hoppertally/server/replay"
)

type replayCmd struct {
	File string `arg:"" help:"File of entries, one a line; - reads standard input. Written by hand, a line needs at, kind and body only."`
}

// Run prints what the entries mean, see package replay.
func (c replayCmd) Run(s *streams) error {
	in, done, err := c.open(s)
	if err != nil {
		return err
	}
	defer done()
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

// open gives a file that can be read twice. What comes through standard input or a
// pipe is put into a temporary file first.
func (c replayCmd) open(s *streams) (in *os.File, done func(), err error) {
	from := s.in
	if c.File != "-" {
		f, err := os.Open(c.File)
		if err != nil {
			return nil, nil, &exit{exitUsage, err}
		}
		if about, err := f.Stat(); err == nil && about.Mode().IsRegular() {
			return f, func() { f.Close() }, nil
		}
		defer f.Close()
		from = f
	}
	kept, err := os.CreateTemp("", "hoppertally-replay-*")
	if err != nil {
		return nil, nil, err
	}
	done = func() {
		kept.Close()
		os.Remove(kept.Name())
	}
	_, err = io.Copy(kept, from)
	if err == nil {
		_, err = kept.Seek(0, io.SeekStart)
	}
	if err != nil {
		done()
		return nil, nil, fmt.Errorf("read %s: %w", c.File, err)
	}
	return kept, done, nil
}

// reportOf is the report of the state, and with it the entries that this program
// is too old to fold.
func reportOf(r replay.Result) shop.Report {
	out := r.State.Report()
	for _, e := range r.Newer {
		out.Attention = append(out.Attention, shop.ReportIssue{Code: "newer_version", Entry: e.ID, Text: fmt.Sprintf("newer_version %s v%d", e.Kind, e.V)})
	}
	return out
}

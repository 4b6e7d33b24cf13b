package main

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"

	"hoppertally/domain/shop"
)

type replayCmd struct {
	File string `arg:"" help:"File of entries, one a line; - reads standard input. Written by hand, a line needs at, kind and body only."`
}

// Run folds the entries with the time they say as the time that counts, and
// without asking who may record what: a replay shows what the entries mean, not
// what a server would let through. What a person may leave out of a line says
// [lineReader].
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
	fold, bad, err := replay(in, func(line int, fault error) { fmt.Fprintf(s.err, "line %d: %v\n", line, fault) })
	if err != nil {
		return fmt.Errorf("read %s: %w", c.File, err)
	}
	if err := fold.State().Check(); err != nil {
		return fmt.Errorf("the books do not add up: %w", err)
	}
	if err := s.print(reportOf(fold)); err != nil {
		return err
	}
	if bad > 0 {
		return &exit{exitLines, fmt.Errorf("%d malformed lines left out", bad)}
	}
	return nil
}

// errOtherBytes is the fault of a line whose id an earlier line has, with other bytes.
var errOtherBytes = errors.New("this id stands in an earlier line with other bytes")

// replay folds lines in any order; empty lines and exact repeats count once. It
// tells fault of each malformed line and how many there were.
func replay(in io.Reader, fault func(line int, err error)) (f *shop.Fold, bad int, err error) {
	var (
		lr   lineReader
		es   []shop.Entry
		seen = map[string][]byte{}
		r    = bufio.NewReader(in)
	)
	for n := int64(1); ; n++ {
		line, err := r.ReadBytes('\n')
		if raw := bytes.TrimSpace(line); len(raw) > 0 {
			e, fail := lr.read(raw, n)
			switch {
			case fail != nil:
			case seen[e.ID] == nil:
				seen[e.ID] = raw
				es = append(es, e)
			case !bytes.Equal(seen[e.ID], raw):
				fail = errOtherBytes
			}
			if fail != nil {
				bad++
				fault(int(n), fail)
			}
		}
		if err == io.EOF {
			break
		}
		if err != nil {
			return nil, bad, err
		}
	}
	f = shop.NewFold()
	f.Add(es...)
	return f, bad, nil
}

// reportOf is the report of the state, and with it the entries that this program
// is too old to fold.
func reportOf(f *shop.Fold) shop.Report {
	out := f.State().Report()
	for _, e := range f.Entries() {
		if e.Body == nil {
			out.Attention = append(out.Attention, shop.ReportIssue{Code: "newer_version", Entry: e.ID, Text: fmt.Sprintf("newer_version %s v%d", e.Kind, e.V)})
		}
	}
	return out
}

// Command bench makes journals of an invented shop and measures whole programs on
// them; `make bench` runs it.
//
//	bench write MOVES ENTRIES LEDGER   the same transfers as entries and for ledger
//	bench replay HOPPERTALLY MOVES     hoppertally replay beside ledger
//	bench pages ENTRIES-PER-PAGE N     pages of a pull, for the browser, on standard output
//	bench core ENTRIES-PER-PAGE N      how long the phone's core takes for them natively, in ms: decoding, folding
package main

import (
	"bufio"
	"errors"
	"fmt"
	"os"
	"strconv"
	"time"

	"hoppertally/sync/entry"
)

func main() {
	if err := run(os.Args[1:]); err != nil {
		fmt.Fprintln(os.Stderr, "bench:", err)
		os.Exit(1)
	}
}

func run(args []string) error {
	switch {
	case len(args) == 4 && args[0] == "write":
		moves, err := strconv.ParseInt(args[1], 10, 64)
		if err != nil {
			return err
		}
		return writeFiles(1, moves, false, args[2], args[3])
	case len(args) == 3 && args[0] == "replay":
		moves, err := strconv.ParseInt(args[2], 10, 64)
		if err != nil {
			return err
		}
		return compare(args[1], moves)
	case len(args) == 3 && (args[0] == "pages" || args[0] == "core"):
		size, err := strconv.ParseInt(args[1], 10, 64)
		if err != nil {
			return err
		}
		n, err := strconv.ParseInt(args[2], 10, 64)
		if err != nil {
			return err
		}
		if args[0] == "core" {
			return core(size, n)
		}
		return writePages(os.Stdout, size, n)
	}
	return errors.New("usage: bench write MOVES ENTRIES LEDGER | bench replay HOPPERTALLY MOVES | bench pages SIZE ENTRIES | bench core SIZE ENTRIES")
}

// writeFiles writes the same transfers as entries, one a line, and in the format
// of the program ledger: one account per place, one commodity per lot and passes.
func writeFiles(seed uint64, moves int64, plain bool, entries, ledger string) error {
	ef, err := os.Create(entries)
	if err != nil {
		return err
	}
	defer ef.Close()
	lf, err := os.Create(ledger)
	if err != nil {
		return err
	}
	defer lf.Close()
	ew, lw := bufio.NewWriterSize(ef, 1<<20), bufio.NewWriterSize(lf, 1<<20)
	var line []byte
	err = makeShop(seed, moves, plain, writer{
		entry: func(h entry.Header, body []byte) error {
			line = append(entry.Append(line[:0], h, body), '\n')
			_, err := ew.Write(line)
			return err
		},
		moves: func(atMS int64, ps []posting) error {
			line = time.UnixMilli(atMS).UTC().AppendFormat(line[:0], "2006/01/02 x\n")
			for _, p := range ps {
				line = appendPosting(line, p)
			}
			_, err := lw.Write(append(line, '\n'))
			return err
		},
	})
	if err != nil {
		return err
	}
	if err := ew.Flush(); err != nil {
		return err
	}
	return lw.Flush()
}

func appendPosting(dst []byte, p posting) []byte {
	dst = append(append(dst, ' '), p.place...)
	dst = strconv.AppendInt(append(dst, "  "...), int64(p.part.Mass), 10)
	dst = append(append(dst, ` "`...), p.part.Lot...)
	dst = strconv.AppendUint(append(dst, '/'), uint64(p.part.Passes), 10)
	return append(dst, "\"\n"...)
}

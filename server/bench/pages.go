package main

import (
	"bufio"
	"errors"
	"io"
	"strconv"

	"hoppertally/sync/entry"
)

var errEnough = errors.New("enough")

// writePages writes n entries of the busy shop as the server answers a pull, in
// pages of the given size, one a line.
func writePages(to io.Writer, size, n int64) error {
	w := bufio.NewWriterSize(to, 1<<20)
	seq := int64(0)
	var line []byte
	err := makeShop(1, n, false, writer{
		entry: func(h entry.Header, body []byte) error {
			if seq == n {
				return errEnough
			}
			if seq%size == 0 {
				line = strconv.AppendInt(append(line[:0], `{"epoch":"e1","head":`...), n, 10)
				line = strconv.AppendInt(append(line, `,"next":`...), min(n, seq+size), 10)
				line = strconv.AppendBool(append(line, `,"more":`...), seq+size < n)
				line = append(line, `,"entries":[`...)
			} else {
				line = append(line, ',')
			}
			seq++
			line = strconv.AppendInt(append(line, `{"outcome":"accepted","seq":`...), seq, 10)
			line = strconv.AppendInt(append(line, `,"received_at":`...), h.AtMS+900, 10)
			line = strconv.AppendInt(append(line, `,"effective_at":`...), h.AtMS, 10)
			line = append(line, `,"late":false,"reason":"","entry":`...)
			line = append(entry.Append(line, h, body), '}')
			if seq%size == 0 || seq == n {
				_, err := w.Write(append(line, "]}\n"...))
				return err
			}
			return nil
		},
		moves: func(int64, []posting) error { return nil },
	})
	if err != nil && err != errEnough {
		return err
	}
	return w.Flush()
}

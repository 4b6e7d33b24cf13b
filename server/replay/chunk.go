package replay

import (
	"bytes"
	"hash/maphash"
	"io"
	"runtime"

	"hoppertally/domain/shop"
)

// chunk is a piece of the file of whole lines, and what a worker made of it.
type chunk struct {
	text  []byte
	first int64 // number of its first line

	records []record
	lines   []int64 // line numbers of the records, where they are not one after the other
	others  []shop.Entry
	long    []string
	faults  []fault
	done    chan struct{}
}

// fault is a line that could not be read.
type fault struct {
	line int64
	err  error
}

// worker reads chunks.
type worker struct {
	out   *chunk
	names names
	line  lineReader
	quick quick
}

func (w *worker) read(c *chunk) {
	w.out = c
	w.quick.names = &w.names
	n := c.first
	for text := c.text; len(text) > 0; n++ {
		line := text
		if end := bytes.IndexByte(text, '\n'); end >= 0 {
			line, text = text[:end], text[end+1:]
		} else {
			text = nil
		}
		raw := bytes.TrimSpace(line)
		if len(raw) == 0 {
			continue
		}
		r, ok := w.quick.read(raw, n, &c.long)
		if !ok {
			e, err := w.line.read(raw, n)
			if err != nil {
				c.faults = append(c.faults, fault{n, err})
				continue
			}
			r = w.record(&e, maphash.Bytes(seed, raw))
		}
		c.records = append(c.records, r)
		c.lines = append(c.lines, n)
	}
}

// chunkSize is how much of the file is read at a time, at least.
const chunkSize = 512 << 10

// chunks cuts what comes from in into chunks of about size bytes and has them read by as many workers
// as there are processors. The chunks come in the order of the file, each when its
// done is closed; when the last has come, *err holds what reading in said. Chunks
// given back in free are used again.
func chunks(in io.Reader, size int, list *nameList, err *error) (out <-chan *chunk, free chan<- *chunk) {
	workers := runtime.GOMAXPROCS(0)
	ahead := 2 * workers
	work, order, back := make(chan *chunk, ahead), make(chan *chunk, ahead), make(chan *chunk, ahead+workers+2)
	for range workers {
		go func() {
			w := worker{names: names{list: list}}
			for c := range work {
				w.read(c)
				close(c.done)
			}
		}()
	}
	go func() {
		defer close(order)
		defer close(work)
		var rest []byte
		for next := int64(1); ; {
			c := fresh(back)
			c.first = next
			var end bool
			c.text, rest, end, *err = readLines(in, c.text[:0], rest, size)
			if *err != nil {
				return
			}
			next += int64(bytes.Count(c.text, []byte{'\n'}))
			order <- c
			work <- c
			if end {
				return
			}
		}
	}()
	return order, back
}

func fresh(back <-chan *chunk) *chunk {
	select {
	case c := <-back:
		*c = chunk{text: c.text, records: c.records[:0], lines: c.lines[:0], done: make(chan struct{})}
		return c
	default:
		return &chunk{done: make(chan struct{})}
	}
}

// readLines fills text, which begins with the rest of the last time, up to the
// last end of line that is in reach; what lies behind it is the next rest.
func readLines(in io.Reader, text, rest []byte, size int) (whole, next []byte, end bool, err error) {
	if cap(text) < size+len(rest) {
		text = make([]byte, 0, size+size/4+len(rest))
	}
	text = append(text, rest...)
	for {
		n, err := io.ReadFull(in, text[len(text):cap(text)])
		from := len(text)
		text = text[:from+n]
		if err == io.EOF || err == io.ErrUnexpectedEOF {
			return text, nil, true, nil
		}
		if err != nil {
			return nil, nil, false, err
		}
		if last := bytes.LastIndexByte(text[from:], '\n'); last >= 0 {
			cut := from + last + 1
			return text[:cut], append(rest[:0], text[cut:]...), false, nil
		}
		text = append(text, 0)[:len(text)] // a line longer than the chunk: more room
	}
}

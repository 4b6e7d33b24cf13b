package replay

import (
	"bufio"
	"bytes"
	"io"
)

// lines reads a file line by line, from the beginning or from a line's first byte.
type lines struct {
	in     io.ReadSeeker
	buf    *bufio.Reader
	end    int64 // where the next line begins
	long   []byte
	start  int64 // where the last line began
	number int64 // of the last line, from 1; not kept after at
}

// newLines reads so many bytes of the file at a time.
func newLines(in io.ReadSeeker, size int) *lines {
	return &lines{in: in, buf: bufio.NewReaderSize(in, size)}
}

// next gives the next line without the white space around it, until the next call;
// io.EOF after the last one.
func (l *lines) next() ([]byte, error) {
	l.start, l.long = l.end, l.long[:0]
	for {
		part, err := l.buf.ReadSlice('\n')
		l.end += int64(len(part))
		if err == bufio.ErrBufferFull {
			l.long = append(l.long, part...)
			continue
		}
		if err != nil && (err != io.EOF || l.end == l.start) {
			return nil, err
		}
		if len(l.long) > 0 {
			part = append(l.long, part...)
			l.long = part
		}
		l.number++
		return bytes.TrimSpace(part), nil
	}
}

// at gives the line that begins at a place, as next does.
func (l *lines) at(start int64) ([]byte, error) {
	if ahead := start - l.end; ahead >= 0 && ahead < int64(l.buf.Buffered()) {
		l.buf.Discard(int(ahead)) // it has that much
	} else {
		if _, err := l.in.Seek(start, io.SeekStart); err != nil {
			return nil, err
		}
		l.buf.Reset(l.in)
	}
	l.end = start
	return l.next()
}

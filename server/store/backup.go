package store

import (
	"bufio"
	"compress/gzip"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	gohash "hash"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"

	"hoppertally/server/durable"

	badger "github.com/dgraph-io/badger/v4"
)

// A backup is a file of its own form, because badger reads a stream of its own
// with a flipped bit without a word:
//
//	hoppertally backup 2 LF
//	{"shop":…,"epoch":…,"seq":…,"made_ms":…} LF
//	gzip of pieces: type, length of the key, key, length of the value, value
//	SHA-256 over everything before, 64 hexadecimal digits LF
//
// A piece is a pair of the database ('k'), in the order of the keys, a file that
// lies beside it ('f', its path with slashes), or the end ('e').
const backupMagic = "hoppertally backup 2\n"

const (
	pairPiece = 'k'
	filePiece = 'f'
	endPiece  = 'e'
)

// Limits of a backup's pieces; a database holds less.
const (
	backupHeadMax = 4 << 10
	pieceKeyMax   = 64 << 10
	pieceMax      = 16 << 20
	sideFileMax   = 1 << 20 // of files beside the database, such as certificates
)

// ErrBackup is returned for a file that is no backup, or not as it was written.
var ErrBackup = errors.New("store: not an undamaged backup")

// BackupInfo is what a backup says of itself.
type BackupInfo struct {
	Shop   string `json:"shop"`  // the server's id
	Epoch  string `json:"epoch"` // of the log that it was made from
	Seq    int64  `json:"seq"`   // the last entry in it
	MadeMS int64  `json:"made_ms"`

	head hash // of the log at Seq, of a backup that was checked
}

// Backup writes the whole store as of one moment, while work goes on, and with
// files also what lies beside the database. It is readable by anyone and holds
// the secrets that people sign in with: encrypt it, or guard it.
func (s *Store) Backup(w io.Writer, shop string, files bool) (info BackupInfo, err error) {
	sum := sha256.New()
	both := io.MultiWriter(w, sum)
	err = s.view(func(t *badger.Txn) error {
		info, err = s.writeBackup(both, t, shop, files)
		return err
	})
	if err == nil {
		_, err = io.WriteString(w, hex.EncodeToString(sum.Sum(nil))+"\n")
	}
	if err != nil {
		return info, fmt.Errorf("store: write backup: %w", err)
	}
	return info, nil
}

func (s *Store) writeBackup(w io.Writer, t *badger.Txn, shop string, files bool) (BackupInfo, error) {
	info := BackupInfo{Shop: shop, MadeMS: s.opts.NowMS()}
	head, epoch, err := headAndEpoch(t)
	if err != nil {
		return info, err
	}
	info.Seq, info.Epoch = head.seq, epoch
	line, err := json.Marshal(info)
	if err != nil {
		return info, err
	}
	if _, err := fmt.Fprintf(w, "%s%s\n", backupMagic, line); err != nil {
		return info, err
	}
	packed, err := gzip.NewWriterLevel(w, gzip.BestSpeed)
	if err != nil {
		return info, err
	}
	p := pieceWriter{bufio.NewWriterSize(packed, 64<<10)}
	if err := scan(t, nil, func(key, val []byte) error { return p.write(pairPiece, key, val) }); err != nil {
		return info, err
	}
	if files {
		if err := s.sideFiles(p); err != nil {
			return info, err
		}
	}
	if err := p.write(endPiece, nil, nil); err != nil {
		return info, err
	}
	return info, errors.Join(p.w.Flush(), packed.Close())
}

func headAndEpoch(t *badger.Txn) (head mark, epoch string, err error) {
	b, err := get(t, headKey)
	if err == nil && b != nil {
		head, err = readMark(b)
	}
	if err != nil {
		return head, "", err
	}
	b, err = get(t, epochKey)
	return head, string(b), err
}

// sideFiles writes what else lies in the data folder: not the database, nor what
// is made anew at each start.
func (s *Store) sideFiles(p pieceWriter) error {
	return filepath.WalkDir(s.dir, func(name string, e fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		rel, err := filepath.Rel(s.dir, name)
		if err != nil {
			return err
		}
		if e.IsDir() && rel == databaseName {
			return filepath.SkipDir
		}
		if !e.Type().IsRegular() || slices.Contains(transient, rel) {
			return nil
		}
		if st, err := e.Info(); err != nil || st.Size() > sideFileMax {
			s.opts.Logger.Warn("a large file in the data folder is left out of the backup", "file", rel)
			return nil
		}
		b, err := os.ReadFile(name)
		if errors.Is(err, fs.ErrNotExist) {
			return nil
		}
		if err != nil {
			return err
		}
		return p.write(filePiece, []byte(filepath.ToSlash(rel)), b)
	})
}

// DoorName is a file in the data folder by which other programs of the same
// person find the server that has it open. No backup holds it.
const DoorName = "door"

var transient = []string{witnessName, witnessName + durable.PartSuffix, ballastName, restoringName, DoorName}

type pieceWriter struct{ w *bufio.Writer }

func (p pieceWriter) write(kind byte, key, val []byte) error {
	head := binary.AppendUvarint([]byte{kind}, uint64(len(key)))
	head = append(head, key...)
	head = binary.AppendUvarint(head, uint64(len(val)))
	p.w.Write(head)
	_, err := p.w.Write(val) // bufio keeps the first error
	return err
}

// piece is one part of a backup; key and value are valid until the next.
type piece struct {
	kind     byte
	key, val []byte
}

// readBackup reads a backup to its end, calls fn for each piece, and returns
// ErrBackup unless the file is as it was written, or fn's error. fn sees pieces
// before the file is known to be good.
func readBackup(r io.Reader, fn func(piece) error) (info BackupInfo, err error) {
	in := &summed{r: bufio.NewReaderSize(r, 64<<10), sum: sha256.New()}
	if info, err = readBackupHead(in); err != nil {
		return info, err
	}
	packed, err := gzip.NewReader(in)
	if err != nil {
		return info, ErrBackup
	}
	packed.Multistream(false)
	if err := readPieces(bufio.NewReaderSize(packed, 64<<10), fn); err != nil {
		return info, err
	}
	want := hex.EncodeToString(in.sum.Sum(nil)) + "\n"
	got, err := io.ReadAll(io.LimitReader(in.r, int64(len(want))+1))
	if err != nil || string(got) != want {
		return info, ErrBackup
	}
	return info, nil
}

func readBackupHead(in *summed) (info BackupInfo, err error) {
	magic := make([]byte, len(backupMagic))
	if _, err := io.ReadFull(in, magic); err != nil || string(magic) != backupMagic {
		return info, ErrBackup
	}
	var line []byte
	for len(line) == 0 || line[len(line)-1] != '\n' {
		b, err := in.ReadByte()
		if err != nil || len(line) > backupHeadMax {
			return info, ErrBackup
		}
		line = append(line, b)
	}
	if json.Unmarshal(line, &info) != nil {
		return info, ErrBackup
	}
	return info, nil
}

func readPieces(r *bufio.Reader, fn func(piece) error) error {
	var p piece
	for {
		var err error
		if p.kind, err = r.ReadByte(); err != nil {
			return ErrBackup
		}
		if p.key, err = readText(r, p.key, pieceKeyMax); err != nil {
			return err
		}
		if p.val, err = readText(r, p.val, pieceMax); err != nil {
			return err
		}
		if p.kind == endPiece {
			if _, err := r.ReadByte(); err != io.EOF {
				return ErrBackup
			}
			return nil
		}
		if err := fn(p); err != nil {
			return err
		}
	}
}

func readText(r *bufio.Reader, into []byte, most uint64) ([]byte, error) {
	n, err := binary.ReadUvarint(r)
	if err != nil || n > most {
		return into, ErrBackup
	}
	into = slices.Grow(into[:0], int(n))[:n]
	if _, err := io.ReadFull(r, into); err != nil {
		return into, ErrBackup
	}
	return into, nil
}

// summed adds up exactly the bytes that were taken from it.
type summed struct {
	r   *bufio.Reader
	sum gohash.Hash
}

func (s *summed) Read(p []byte) (int, error) {
	n, err := s.r.Read(p)
	s.sum.Write(p[:n])
	return n, err
}

func (s *summed) ReadByte() (byte, error) {
	b, err := s.r.ReadByte()
	if err == nil {
		s.sum.Write([]byte{b})
	}
	return b, err
}

// CheckBackup reads a whole backup and checks its sum, that the log in it is
// there from 1 to its head with every hash right, and that all other keys are as
// the store wrote them. It returns ErrBackup or a *BadRecordError.
func CheckBackup(r io.Reader) (BackupInfo, error) {
	c := backupCheck{prev: genesis}
	info, err := readBackup(r, c.piece)
	if err != nil {
		return info, err
	}
	info.head = c.prev
	return info, c.end(info)
}

type backupCheck struct {
	seq     int64
	prev    hash
	head    mark
	epoch   string
	want    tally
	hasWant bool
	counted tally
}

func (c *backupCheck) piece(p piece) error {
	if p.kind != pairPiece || len(p.key) == 0 {
		return nil
	}
	if i := areaOf(p.key); i >= 0 {
		c.counted.areas[i].add(pairHash(p.key, p.val), 1)
	}
	var err error
	switch {
	case p.key[0] == logPrefix:
		return c.record(p)
	case string(p.key) == string(headKey):
		c.head, err = readMark(p.val)
	case string(p.key) == string(epochKey):
		c.epoch = string(p.val)
	case string(p.key) == string(tallyKey):
		c.want, err = readTally(p.val)
		c.hasWant = true
	}
	if err != nil {
		return &BadRecordError{What: fmt.Sprintf("%s: %v", p.key, err)}
	}
	return nil
}

func (c *backupCheck) record(p piece) error {
	c.seq++
	if string(p.key) != string(logKey(c.seq)) {
		return &BadRecordError{Seq: c.seq, What: "is missing"}
	}
	h, rec, err := splitLog(p.val)
	if err != nil {
		return &BadRecordError{Seq: c.seq, What: err.Error()}
	}
	if c.prev = chain(c.prev, c.seq, rec); c.prev != h {
		return &BadRecordError{Seq: c.seq, What: "does not fit the chain of hashes"}
	}
	return nil
}

func (c *backupCheck) end(info BackupInfo) error {
	switch {
	case !c.hasWant:
		return errNoTally
	case c.seq != info.Seq || c.head.seq != c.seq || c.epoch != info.Epoch:
		return &BadRecordError{Seq: c.seq, What: fmt.Sprintf("ends a backup that says it goes to %d", info.Seq)}
	case c.seq > 0 && c.head.hash != c.prev:
		return &BadRecordError{Seq: c.seq, What: "is not the one that the head names"}
	}
	return c.want.compare(c.counted)
}

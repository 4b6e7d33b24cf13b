package backup

import (
	"context"
	"crypto/rand"
	"crypto/subtle"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"time"

	"hoppertally/server/store"
)

// House is what a door and a keeper need of the server's house; package house
// says what each does.
type House interface {
	ServerID() string
	Epoch() string
	Head() int64
	Holds(store.BackupInfo) (bool, error) // see store.Store.Holds
	Parted() int64                        // see store.Store.Parted
	Backup(w io.Writer, isSealed bool) error
	NoteBackup(info store.BackupInfo, covers int64) error
	NoteHandBackup(info store.BackupInfo) error
	NoteBackupFault(error)
}

// ErrNobody is returned when no server has the folder open.
var ErrNobody = errors.New("backup: no server answers for this folder")

// Door is how the command line reaches the server that has the data folder open:
// badger lets in one process only. A file in the folder, which only its owner can
// read, names a port of this machine and a secret.
type Door struct {
	file     string
	srv      *http.Server
	secret   string
	house    House
	log      *slog.Logger
	isClosed chan struct{}
}

type doorFile struct {
	Addr   string `json:"addr"`
	Secret string `json:"secret"`
}

// OpenDoor starts to listen.
func OpenDoor(dataDir string, h House, log *slog.Logger) (*Door, error) {
	ln, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return nil, err
	}
	var secret [32]byte
	rand.Read(secret[:])
	d := &Door{file: filepath.Join(dataDir, store.DoorName), secret: hex.EncodeToString(secret[:]), house: h, log: log, isClosed: make(chan struct{})}
	b, err := json.Marshal(doorFile{ln.Addr().String(), d.secret})
	if err == nil {
		err = replaceFile(d.file, b)
	}
	if err != nil {
		return nil, errors.Join(fmt.Errorf("open the door for the command line: %w", err), ln.Close())
	}
	mux := http.NewServeMux()
	mux.HandleFunc("POST /backup", d.backup)
	mux.HandleFunc("POST /good", d.good)
	d.srv = &http.Server{Handler: d.guard(mux), ReadHeaderTimeout: 5 * time.Second, ErrorLog: slog.NewLogLogger(log.Handler(), slog.LevelWarn)}
	go func() {
		defer close(d.isClosed)
		if err := d.srv.Serve(ln); !errors.Is(err, http.ErrServerClosed) {
			log.Error("the door for the command line is shut", slog.Any("error", err))
		}
	}()
	return d, nil
}

func replaceFile(name string, b []byte) error {
	part := name + partSuffix
	if err := os.WriteFile(part, b, 0o600); err != nil {
		return err
	}
	return os.Rename(part, name)
}

// Close ends what goes through the door.
func (d *Door) Close() error {
	err := errors.Join(os.Remove(d.file), d.srv.Close())
	<-d.isClosed
	return err
}

func (d *Door) guard(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		secret, ok := strings.CutPrefix(r.Header.Get("Authorization"), "Bearer ")
		if !ok || subtle.ConstantTimeCompare([]byte(secret), []byte(d.secret)) != 1 {
			http.Error(w, "this door is for the owner of the data folder", http.StatusForbidden)
			return
		}
		next.ServeHTTP(w, r)
	})
}

func (d *Door) backup(w http.ResponseWriter, r *http.Request) {
	w.Header().Set("Content-Type", "application/octet-stream")
	if err := d.house.Backup(w, r.URL.Query().Has("sealed")); err != nil {
		d.log.Error("backup for the command line", slog.Any("error", err))
		panic(http.ErrAbortHandler) // cuts the connection: the other end must not take it for whole
	}
}

// good hears that a backup made here was read back from its disk.
func (d *Door) good(w http.ResponseWriter, r *http.Request) {
	var info store.BackupInfo
	if err := json.NewDecoder(io.LimitReader(r.Body, 4<<10)).Decode(&info); err != nil {
		http.Error(w, "not what a backup says of itself", http.StatusBadRequest)
		return
	}
	if err := d.house.NoteHandBackup(info); err != nil {
		http.Error(w, err.Error(), http.StatusInternalServerError)
	}
}

// Caller is the other side of a door.
type Caller struct{ file doorFile }

// Call looks for a server that has dataDir open; ErrNobody if there is none.
func Call(dataDir string) (*Caller, error) {
	b, err := os.ReadFile(filepath.Join(dataDir, store.DoorName))
	if errors.Is(err, os.ErrNotExist) {
		return nil, ErrNobody
	}
	if err != nil {
		return nil, err
	}
	var c Caller
	if json.Unmarshal(b, &c.file) != nil {
		return nil, ErrNobody
	}
	conn, err := net.DialTimeout("tcp", c.file.Addr, 2*time.Second)
	if err != nil {
		return nil, ErrNobody // it was killed and left the file behind
	}
	return &c, conn.Close()
}

func (c *Caller) post(ctx context.Context, path string, body io.Reader) (*http.Response, error) {
	req, err := http.NewRequestWithContext(ctx, "POST", "http://"+c.file.Addr+path, body)
	if err != nil {
		return nil, err
	}
	req.Header.Set("Authorization", "Bearer "+c.file.Secret)
	res, err := http.DefaultClient.Do(req)
	if err != nil {
		return nil, err
	}
	if res.StatusCode == http.StatusForbidden {
		return nil, errors.Join(ErrNobody, res.Body.Close()) // somebody else has the port now
	}
	if res.StatusCode != http.StatusOK {
		b, err := io.ReadAll(io.LimitReader(res.Body, 1<<10))
		return nil, errors.Join(fmt.Errorf("the server says: %s", strings.TrimSpace(string(b))), err, res.Body.Close())
	}
	return res, nil
}

// Backup has the server write a backup. Whether all of it came, its own sum tells.
func (c *Caller) Backup(ctx context.Context) Maker {
	return func(w io.Writer, isSealed bool) (err error) {
		path := "/backup"
		if isSealed {
			path += "?sealed"
		}
		res, err := c.post(ctx, path, nil)
		if err != nil {
			return err
		}
		defer func() { err = errors.Join(err, res.Body.Close()) }()
		_, err = io.Copy(w, res.Body)
		return err
	}
}

// Good tells the server that a backup that it made was read back and is good.
func (c *Caller) Good(ctx context.Context, info store.BackupInfo) error {
	b, err := json.Marshal(info)
	if err != nil {
		return err
	}
	res, err := c.post(ctx, "/good", strings.NewReader(string(b)))
	if err != nil {
		return err
	}
	return res.Body.Close()
}

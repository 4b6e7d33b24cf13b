package store

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"

	badger "github.com/dgraph-io/badger/v4"
)

// A program of the first days, whose memory tables were larger, was killed: what it had
// acknowledged stands in the log of a table that would not fit into one of ours.
func TestAFolderThatAFirstProgramLeftOpens(t *testing.T) {
	log := testOptions().withDefaults().Logger
	first := t.TempDir()
	db, err := badger.Open(badgerOptions(first, log).WithMemTableSize(memTableFirst))
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	value := make([]byte, 60<<10)
	const keys = 110 // 6.6 MB, in one memory table
	for i := range keys {
		if err := db.Update(func(x *badger.Txn) error { return x.Set(fmt.Appendf(nil, "key %d", i), value) }); err != nil {
			t.Fatal(err)
		}
	}
	killed := filepath.Join(t.TempDir(), "killed")
	if err := os.CopyFS(killed, os.DirFS(first)); err != nil {
		t.Fatal(err)
	}
	if size := memTableSize(killed); size != memTableFirst {
		t.Errorf("opened with memory tables of %d bytes", size)
	}
	count := func() (n int) {
		db, err := badger.Open(badgerOptions(killed, log))
		if err != nil {
			t.Fatal(err)
		}
		defer db.Close()
		err = db.View(func(x *badger.Txn) error { return scan(x, []byte("key"), func(_, _ []byte) error { n++; return nil }) })
		if err != nil {
			t.Fatal(err)
		}
		return n
	}
	if n := count(); n != keys {
		t.Errorf("%d keys, want %d", n, keys)
	}
	if size := memTableSize(killed); size != memTable {
		t.Errorf("closed once, the folder is opened with memory tables of %d bytes", size)
	}
	if n := count(); n != keys {
		t.Errorf("%d keys afterwards, want %d", n, keys)
	}
}

func TestAFolderThatOurProgramLeftKeepsItsSmallTables(t *testing.T) {
	dir := t.TempDir()
	db, err := badger.Open(badgerOptions(dir, testOptions().withDefaults().Logger))
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	if size := memTableSize(dir); size != memTable {
		t.Errorf("memory tables of %d bytes beside a log of ours", size)
	}
}

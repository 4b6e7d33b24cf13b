package store

import (
	"context"
	"errors"
	"slices"
	"testing"
)

func TestSideArea(t *testing.T) {
	dir := t.TempDir()
	s := open(t, dir, testOptions())
	kv := s.KV()
	if v, err := kv.Get("none"); v != nil || err != nil {
		t.Errorf("absent key: %q, %v", v, err)
	}
	undo := errors.New("undo")
	for _, err := range []error{kv.Put("user/b", []byte("2")), kv.Put("user/a", []byte("1")), kv.Put("token/x", []byte("9")), kv.Put("user/c", nil), kv.Delete("user/c")} {
		if err != nil {
			t.Fatal(err)
		}
	}
	if err := kv.Update(func(x Tx) error { x.Put("user/a", []byte("changed")); return undo }); !errors.Is(err, undo) {
		t.Errorf("update returned %v, want the error of fn", err)
	}
	s.Close()
	s = open(t, dir, testOptions())
	var got []string
	err := s.KV().View(func(x Tx) error {
		return x.Each("user/", func(k string, v []byte) error { got = append(got, k+"="+string(v)); return nil })
	})
	if want := []string{"user/a=1", "user/b=2"}; err != nil || !slices.Equal(got, want) {
		t.Errorf("side area holds %v, %v; want %v", got, err, want)
	}
	if err := s.Verify(context.Background()); err != nil {
		t.Errorf("the side area disturbs the log: %v", err)
	}
}

func TestTransactionsOfTheSideAreaDoNotLoseEachOther(t *testing.T) {
	s := open(t, t.TempDir(), testOptions())
	const writers, times = 4, 10
	done := make(chan error, writers)
	for range writers {
		go func() {
			for range times {
				err := s.KV().Update(func(x Tx) error {
					v, err := x.Get("count")
					if err != nil {
						return err
					}
					return x.Put("count", append(v, '|'))
				})
				if err != nil {
					done <- err
					return
				}
			}
			done <- nil
		}()
	}
	for range writers {
		if err := <-done; err != nil {
			t.Fatal(err)
		}
	}
	if v, err := s.KV().Get("count"); len(v) != writers*times || err != nil {
		t.Errorf("count %d, %v; want %d", len(v), err, writers*times)
	}
}

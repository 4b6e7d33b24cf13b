package store

import badger "github.com/dgraph-io/badger/v4"

// KV is a side area for other parts of the server, such as sign-in: badger
// locks its folder, so they live in the same database, apart from the log. A
// write is durable when the call returns.
type KV struct{ s *Store }

// KV returns the side area.
func (s *Store) KV() KV { return KV{s} }

// Tx reads and writes within one transaction.
type Tx struct {
	t *badger.Txn
	c *change // nil: reading only
}

// Get returns a copy of the value, nil if there is none.
func (x Tx) Get(key string) ([]byte, error) { return get(x.t, named(kvPrefix, key)) }

// Put sets the value; both are copied.
func (x Tx) Put(key string, value []byte) error {
	return x.c.set(named(kvPrefix, key), append([]byte{}, value...))
}

// Delete removes the key, if it is there.
func (x Tx) Delete(key string) error { return x.c.delete(named(kvPrefix, key)) }

// Each visits the keys with a prefix, in order; value is fn's to keep.
func (x Tx) Each(prefix string, fn func(key string, value []byte) error) error {
	return scan(x.t, named(kvPrefix, prefix), func(key, val []byte) error {
		return fn(string(key[1:]), append([]byte{}, val...))
	})
}

// View reads as of one moment.
func (k KV) View(fn func(Tx) error) error {
	return k.s.db.View(func(t *badger.Txn) error { return fn(Tx{t: t}) })
}

// Update reads and writes, all or nothing; an error of fn undoes everything.
// Updates run one after the other, so they never meet on a key; fn must not call
// Update. It returns ErrDiskLow below half of Options.MinFree.
func (k KV) Update(fn func(Tx) error) error {
	if err := checkSpace(k.s.dir, k.s.opts, k.s.opts.MinFree/2); err != nil {
		return err
	}
	return k.s.update(func(c *change) error { return fn(Tx{c.t, c}) })
}

// update is a change of anything but the log. Updates run one after the other.
func (s *Store) update(fn func(*change) error) error {
	s.side.Lock()
	defer s.side.Unlock()
	c := s.change()
	defer c.t.Discard()
	if err := fn(c); err != nil {
		return err
	}
	return c.commit(nil)
}

// Get returns the value, nil if there is none.
func (k KV) Get(key string) (value []byte, err error) {
	err = k.View(func(x Tx) error {
		value, err = x.Get(key)
		return err
	})
	return value, err
}

// Put sets one value.
func (k KV) Put(key string, value []byte) error {
	return k.Update(func(x Tx) error { return x.Put(key, value) })
}

// Delete removes one key.
func (k KV) Delete(key string) error {
	return k.Update(func(x Tx) error { return x.Delete(key) })
}

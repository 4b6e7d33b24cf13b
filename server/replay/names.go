package replay

import (
	"encoding/binary"
	"sync"
)

// name stands for a name that occurs again and again: a place, a lot, a person.
// 0 is the empty one.
type name uint32

// nameList is the list of names that all workers share.
type nameList struct {
	mu  sync.Mutex
	ids map[string]name
	all []string // by name
}

func newNameList() *nameList { return &nameList{ids: map[string]name{"": 0}, all: []string{""}} }

func (l *nameList) of(s string) (string, name) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if n, ok := l.ids[s]; ok {
		return l.all[n], n
	}
	n := name(len(l.all))
	l.ids[s] = n
	l.all = append(l.all, s)
	return s, n
}

// now are the names so far; what is added later does not show.
func (l *nameList) now() []string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.all
}

// names is one worker's way to the list: names that it met before are found
// without the others. Two steps: a table by the look of a name, then a map.
type names struct {
	list  *nameList
	known map[string]name
	quick [1024]struct {
		s string
		n name
	}
}

func (t *names) of(s string) name {
	if s == "" {
		return 0
	}
	if n, ok := t.known[s]; ok {
		return n
	}
	own, n := t.list.of(s)
	if t.known == nil {
		t.known = map[string]name{}
	}
	t.known[own] = n
	return n
}

// find is of for bytes: a name that valid accepts, 0 for any other.
func (t *names) find(b []byte, valid func([]byte) bool) name {
	if len(b) == 0 {
		return 0
	}
	at := &t.quick[look(b)%uint64(len(t.quick))]
	if at.s == string(b) {
		return at.n
	}
	if !valid(b) {
		return 0
	}
	at.s = string(b)
	at.n = t.of(at.s)
	return at.n
}

// look mixes the length, the first and the last bytes of a name.
func look(b []byte) uint64 {
	var x uint64
	if len(b) >= 8 {
		x = binary.LittleEndian.Uint64(b) ^ binary.LittleEndian.Uint64(b[len(b)-8:])*3
	} else {
		for _, c := range b {
			x = x<<8 | uint64(c)
		}
	}
	return (x + uint64(len(b))) * 0x9e3779b97f4a7c15 >> 40
}

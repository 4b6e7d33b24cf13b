package https

import (
	"encoding/json"
	"fmt"
	"net/url"
	"slices"
	"strings"
	"sync"
	"time"
)

// Limits of what is remembered about addresses.
const (
	OriginsMax  = 32       // the one that was used least lately is forgotten beyond
	originKeep  = 60 * day // after this long without a phone an address is forgotten
	originWrite = time.Hour
	originBytes = 300
)

// Side is where Origins are kept between runs.
type Side interface {
	Read(key string) ([]byte, error)
	Write(changes map[string][]byte) error
}

// originsKey is the one key of Side that Origins writes.
const originsKey = "https/origins"

// Used is an address under which phones have synced, as browsers write it:
// https://hopper.lan:8377.
type Used struct {
	Origin string `json:"origin"`
	LastMS int64  `json:"last_ms"` // when a phone last sent entries or asked for them there
}

// Origins remembers under which addresses phones have synced. A browser keeps an
// address's entries apart from every other's: when the server moves to another name or
// port, what was not sent yet stays behind under the old one.
type Origins struct {
	now  func() time.Time
	side Side

	mu     sync.Mutex
	seen   []Used
	wrote  map[string]int64 // LastMS as it is on the disk
	served func() []string  // nil: not known
}

// OpenOrigins reads what is remembered.
func OpenOrigins(side Side, now func() time.Time) (*Origins, error) {
	o := &Origins{now: orNow(now), side: side, wrote: map[string]int64{}}
	b, err := side.Read(originsKey)
	if err != nil {
		return nil, fmt.Errorf("read the addresses of phones: %w", err)
	}
	if b != nil {
		if err := json.Unmarshal(b, &o.seen); err != nil {
			return nil, fmt.Errorf("read the addresses of phones: %w", err)
		}
	}
	for _, s := range o.seen {
		o.wrote[s.Origin] = s.LastMS
	}
	return o, nil
}

// Serve says under which addresses this server answers now; nil when it does not know.
func (o *Origins) Serve(origins func() []string) {
	o.mu.Lock()
	defer o.mu.Unlock()
	o.served = origins
}

// Saw notes that a phone synced under an origin, and tells whether that is an address
// which no phone used before while others were. What is not an origin is ignored. It
// writes at most once an hour for each.
func (o *Origins) Saw(origin string) (isNew bool, err error) {
	if !isOrigin(origin) {
		return false, nil
	}
	o.mu.Lock()
	defer o.mu.Unlock()
	now := o.now().UnixMilli()
	i := slices.IndexFunc(o.seen, func(s Used) bool { return s.Origin == origin })
	if i < 0 {
		isNew = len(o.seen) > 0
		o.seen = append(o.seen, Used{origin, now})
	} else {
		o.seen[i].LastMS = max(now, o.seen[i].LastMS)
	}
	if was, ok := o.wrote[origin]; ok && now < was+originWrite.Milliseconds() {
		return false, nil
	}
	return isNew, o.write(now)
}

// write keeps the latest ones. o.mu is held.
func (o *Origins) write(now int64) error {
	o.seen = slices.DeleteFunc(o.seen, func(s Used) bool { return now-s.LastMS > originKeep.Milliseconds() })
	slices.SortFunc(o.seen, func(a, b Used) int {
		return compare(b.LastMS, a.LastMS, strings.Compare(a.Origin, b.Origin))
	})
	o.seen = o.seen[:min(len(o.seen), OriginsMax)]
	b, err := json.Marshal(o.seen)
	if err != nil {
		return fmt.Errorf("encode the addresses of phones: %w", err)
	}
	if err := o.side.Write(map[string][]byte{originsKey: b}); err != nil {
		return fmt.Errorf("write the addresses of phones: %w", err)
	}
	clear(o.wrote)
	for _, s := range o.seen {
		o.wrote[s.Origin] = s.LastMS
	}
	return nil
}

func compare(a, b int64, otherwise int) int {
	switch {
	case a < b:
		return -1
	case a > b:
		return 1
	}
	return otherwise
}

// isOrigin tells whether a text is a scheme, a host and perhaps a port, as browsers
// send it, and no longer than any of ours.
func isOrigin(s string) bool {
	if len(s) > originBytes {
		return false
	}
	u, err := url.Parse(s)
	return err == nil && (u.Scheme == "https" || u.Scheme == "http") && u.Host != "" && u.User == nil && s == u.Scheme+"://"+u.Host
}

// Left are the addresses that phones used within 60 days and that lead nowhere now,
// the one used last first; none when it is not known what is served. besides is one
// that leads here for certain: that of the one who asks.
func (o *Origins) Left(besides string) []Used {
	o.mu.Lock()
	defer o.mu.Unlock()
	if o.served == nil {
		return nil
	}
	now, served := o.now().UnixMilli(), o.served()
	var left []Used
	for _, s := range o.seen {
		if s.Origin != besides && !slices.Contains(served, s.Origin) && now-s.LastMS <= originKeep.Milliseconds() {
			left = append(left, s)
		}
	}
	return left
}

package api

import (
	"slices"
	"sync"
)

// listeners are those who have a place among the streams of news.
type listeners struct {
	mu  sync.Mutex
	all int
	of  map[string][]*listener // by person, "" the guests; the oldest first
}

type listener struct {
	person string
	taken  chan struct{} // closed when a newer stream of the same person takes the place
}

// enter takes a place, nil if there is none. A person who has all of theirs gives up the
// oldest: a phone that lost its line comes back before the server has missed it.
func (l *listeners) enter(person string) *listener {
	l.mu.Lock()
	defer l.mu.Unlock()
	if own := l.of[person]; person != "" && len(own) >= ownMax {
		close(own[0].taken)
		l.of[person] = own[1:]
		l.all--
	}
	if l.all >= streamsMax || person == "" && len(l.of[""]) >= guestsMax {
		return nil
	}
	place := &listener{person, make(chan struct{})}
	l.of[person] = append(l.of[person], place)
	l.all++
	return place
}

// leave gives a place back, if nobody took it.
func (l *listeners) leave(place *listener) {
	l.mu.Lock()
	defer l.mu.Unlock()
	own := l.of[place.person]
	i := slices.Index(own, place)
	if i < 0 {
		return
	}
	l.all--
	if own = slices.Delete(own, i, i+1); len(own) == 0 {
		delete(l.of, place.person)
	} else {
		l.of[place.person] = own
	}
}

func (l *listeners) count() int {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.all
}

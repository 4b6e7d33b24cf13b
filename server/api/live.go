package api

import (
	"bufio"
	"strconv"
	"time"

	"github.com/gofiber/fiber/v2"
)

// newsGap is the least time between two pieces of news on a stream. The first one
// after a silence goes out at once.
const newsGap = 200 * time.Millisecond

// live is a stream of server-sent events: at once and whenever the log grew, its
// head and nothing more. Whoever listens pulls. It needs no signing in, as hello
// does not: the head says how many entries there are. But those who are not signed
// in cannot take the places of those who are.
//
// fasthttp notices a phone that went away only when a write to it fails, so the
// beat is what ends dead streams; and only the server's own end closes done.
func (s *Server) live(c *fiber.Ctx) error {
	leave, err := s.enter(c)
	if err != nil {
		return err
	}
	done := c.Context().Done()
	news, cancel := s.Log.Subscribe()
	c.Set(fiber.HeaderContentType, "text/event-stream")
	c.Set("X-Accel-Buffering", "no") // a proxy that collects would delay the news
	c.Context().SetBodyStreamWriter(func(w *bufio.Writer) {
		defer leave()
		defer cancel()
		s.stream(w, news, done)
	})
	return nil
}

// enter takes a place among the streams; leave gives it back.
func (s *Server) enter(c *fiber.Ctx) (leave func(), err error) {
	full := &Problem{Code: "server.busy", Detail: "too many streams", Wait: 30 * time.Second}
	r, err := s.reader(c)
	isGuest := err != nil || r.Revoked
	if isGuest && s.guests.Add(1) > guestsMax {
		s.guests.Add(-1)
		return nil, full
	}
	leave = func() {
		s.streams.Add(-1)
		if isGuest {
			s.guests.Add(-1)
		}
	}
	if s.streams.Add(1) > streamsMax {
		leave()
		return nil, full
	}
	return leave, nil
}

func (s *Server) stream(w *bufio.Writer, news <-chan int64, done <-chan struct{}) {
	beat := time.NewTicker(s.Beat)
	defer beat.Stop()
	said := int64(-1)
	for {
		if head := s.Log.Head(); head != said {
			w.WriteString(`data: {"head":` + strconv.FormatInt(head, 10) + "}\n\n")
			said = head
		} else {
			w.WriteString(": here\n\n")
		}
		if w.Flush() != nil {
			return
		}
		// Many entries at once are one piece of news: with 500 phones that listen, telling
		// each of each would cost more than taking the entries in.
		select {
		case <-time.After(newsGap):
		case <-done:
			return
		}
		select {
		case _, isOpen := <-news:
			if !isOpen {
				return
			}
		case <-beat.C:
		case <-done:
			return
		}
	}
}

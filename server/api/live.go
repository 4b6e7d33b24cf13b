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
// in cannot take the places of those who are, and no person all of them.
//
// fasthttp notices a phone that went away only at the second write after it did,
// and only the server's own end closes over. So each half beat the connection
// itself is asked; and a phone that went without a word is given up a quarter of
// a beat after a sign of life that it did not acknowledge. Within two beats
// nothing of it is left.
func (s *Server) live(c *fiber.Ctx) error {
	person := "" // a guest
	if r, err := s.reader(c); err == nil && !r.Revoked {
		person = r.ID
	}
	place := s.listeners.enter(person)
	if place == nil {
		return &Problem{Code: "server.busy", Detail: "too many streams", Wait: 30 * time.Second}
	}
	phone := socketOf(c.Context().Conn(), s.Beat/4)
	over := c.Context().Done()
	news, cancel := s.Log.Subscribe()
	c.Set(fiber.HeaderContentType, "text/event-stream")
	c.Set("X-Accel-Buffering", "no") // a proxy that collects would delay the news
	c.Context().SetBodyStreamWriter(func(w *bufio.Writer) {
		defer s.listeners.leave(place)
		defer cancel()
		s.stream(w, phone, news, over, place.taken)
	})
	return nil
}

func (s *Server) stream(w *bufio.Writer, phone socket, news <-chan int64, over, taken <-chan struct{}) {
	half := time.NewTicker(s.Beat / 2)
	defer half.Stop()
	said := int64(-1)
	for halves := 0; ; {
		switch head := s.Log.Head(); {
		case head != said:
			w.WriteString(`data: {"head":` + strconv.FormatInt(head, 10) + "}\n\n")
			said, halves = head, 0
		case halves >= 2:
			w.WriteString(": here\n\n")
			halves = 0
		}
		if w.Flush() != nil {
			return
		}
		// Many entries at once are one piece of news: with 500 phones that listen, telling
		// each of each would cost more than taking the entries in.
		select {
		case <-time.After(newsGap):
		case <-over:
			return
		case <-taken:
			return
		}
		select {
		case _, isOpen := <-news:
			if !isOpen {
				return
			}
		case <-half.C:
			halves++
			if phone.isGone() {
				return
			}
		case <-over:
			return
		case <-taken:
			return
		}
	}
}

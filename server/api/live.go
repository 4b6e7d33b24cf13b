package api

import (
	"bufio"
	"strconv"
	"time"

	"github.com/gofiber/fiber/v2"
)

// live is a stream of server-sent events: at once and whenever the log grew, its
// head and nothing more. Whoever listens pulls. It needs no signing in, as hello
// does not: the head says how many entries there are.
//
// fasthttp notices a phone that went away only when a write to it fails, so the
// beat is what ends dead streams; and only the server's own end closes done.
func (s *Server) live(c *fiber.Ctx) error {
	if s.streams.Add(1) > streamsMax {
		s.streams.Add(-1)
		return &Problem{Code: "server.busy", Detail: "too many streams", Wait: 30 * time.Second}
	}
	done := c.Context().Done()
	news, cancel := s.Log.Subscribe()
	c.Set(fiber.HeaderContentType, "text/event-stream")
	c.Set("X-Accel-Buffering", "no") // a proxy that collects would delay the news
	c.Context().SetBodyStreamWriter(func(w *bufio.Writer) {
		defer s.streams.Add(-1)
		defer cancel()
		s.stream(w, news, done)
	})
	return nil
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

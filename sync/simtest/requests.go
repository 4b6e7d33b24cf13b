package simtest

import (
	"hoppertally/sync/replica"
)

// serveHello greets a phone as GET /hello does.
func serveHello(s *server, l *login, give func(reply)) {
	dev := s.state.Device(l.device)
	backup := s.disk.backupSeq
	if s.w.plants.ForgetAtOnce {
		backup = s.head()
	}
	give(answer(appendHello(nil, s.disk.epoch, s.head(), s.prove(), s.nowMS(), dev.HaveN(), backup)))
}

// pull gives a page of the log, as GET /pull does.
func (s *server) pull(c replica.Cursor, most int64) reply {
	head := s.head()
	if c.Epoch != s.disk.epoch || c.After > head {
		return problem(409)
	}
	page := s.disk.log[c.After:min(head, c.After+min(most, s.w.pageMax))]
	next := c.After + int64(len(page))
	if s.w.plants.CursorByTime && c.After > 0 {
		since := s.disk.log[c.After-1].EffectiveMS
		var newer []*record
		for _, r := range s.disk.log[c.After:] {
			if r.EffectiveMS >= since {
				newer = append(newer, r)
			}
		}
		if len(newer) == 0 {
			newer = page[:min(1, len(page))]
		}
		return answer(appendPage(nil, s.disk.epoch, head, head, s.prove(), newer))
	}
	return answer(s.page(question{c.After, next}, page))
}

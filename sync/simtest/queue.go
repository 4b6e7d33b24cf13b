package simtest

// queue holds what is to happen, in order of time; of one time, in the order in
// which it was asked for.
type queue struct {
	heap  []event
	order uint64
}

type event struct {
	atMS  int64
	order uint64
	do    func()
}

func (e *event) before(o *event) bool {
	return e.atMS < o.atMS || e.atMS == o.atMS && e.order < o.order
}

func (q *queue) add(atMS int64, do func()) {
	q.order++
	q.heap = append(q.heap, event{atMS, q.order, do})
	for i := len(q.heap) - 1; i > 0; {
		up := (i - 1) / 2
		if !q.heap[i].before(&q.heap[up]) {
			return
		}
		q.heap[i], q.heap[up] = q.heap[up], q.heap[i]
		i = up
	}
}

// next takes the first event that is due by endMS.
func (q *queue) next(endMS int64) (e event, ok bool) {
	if len(q.heap) == 0 || q.heap[0].atMS > endMS {
		return event{}, false
	}
	e = q.heap[0]
	last := len(q.heap) - 1
	q.heap[0], q.heap[last] = q.heap[last], event{}
	q.heap = q.heap[:last]
	for i := 0; ; {
		least := i
		for down := 2*i + 1; down <= 2*i+2 && down < last; down++ {
			if q.heap[down].before(&q.heap[least]) {
				least = down
			}
		}
		if least == i {
			return e, true
		}
		q.heap[i], q.heap[least] = q.heap[least], q.heap[i]
		i = least
	}
}

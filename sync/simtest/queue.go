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

	rings      *window // in the place of do: the timer of a window
	turn, life int32
}

func (e *event) before(o *event) bool {
	return e.atMS < o.atMS || e.atMS == o.atMS && e.order < o.order
}

func (q *queue) add(e event) {
	q.order++
	e.order = q.order
	q.heap = append(q.heap, e)
	i := len(q.heap) - 1
	for i > 0 && e.before(&q.heap[(i-1)/2]) {
		q.heap[i] = q.heap[(i-1)/2]
		i = (i - 1) / 2
	}
	q.heap[i] = e
}

// next takes the first event that is due by endMS.
func (q *queue) next(endMS int64) (e event, ok bool) {
	if len(q.heap) == 0 || q.heap[0].atMS > endMS {
		return event{}, false
	}
	e = q.heap[0]
	last := q.heap[len(q.heap)-1]
	q.heap[len(q.heap)-1] = event{}
	q.heap = q.heap[:len(q.heap)-1]
	n, i := len(q.heap), 0
	for down := 1; down < n; down = 2*i + 1 {
		if down+1 < n && q.heap[down+1].before(&q.heap[down]) {
			down++
		}
		if !q.heap[down].before(&last) {
			break
		}
		q.heap[i] = q.heap[down]
		i = down
	}
	if n > 0 {
		q.heap[i] = last
	}
	return e, true
}

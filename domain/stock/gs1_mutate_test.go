package stock

import (
	"flag"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"hoppertally/domain/internal/reference"
)

var labelCount = flag.Int("labels", 200_000, "how many labels TestLabelsOfAllSorts reads")

// mutator makes labels out of the published ones: pieces are changed, cut, doubled,
// joined, given other identifiers, separators and digits. Deterministic by its seed.
type mutator struct {
	r     *rand.Rand
	seeds []string
	ais   []string
	buf   []byte
}

func newMutator(t testing.TB, seed uint64) *mutator {
	m := &mutator{r: rand.New(rand.NewPCG(seed, 82))}
	for _, row := range reference.Table(t, "gs1-examples.csv") {
		m.seeds = append(m.seeds, row["hri"], strings.ReplaceAll(row["fnc1_form_caret_is_FNC1"], "^", "\x1d"))
	}
	m.seeds = append(m.seeds, "]C10109521123456788\x1d", `(10)\`, "7-1145 B", "]d2", "")
	for ai := range identifiers {
		m.ais = append(m.ais, ai)
	}
	slices.Sort(m.ais)
	return m
}

// label is the next one.
func (m *mutator) label() string {
	b := append(m.buf[:0], m.seeds[m.r.IntN(len(m.seeds))]...)
	for range 1 + m.r.IntN(4) {
		b = m.change(b)
	}
	m.buf = b
	return string(b)
}

func (m *mutator) change(b []byte) []byte {
	at := m.r.IntN(len(b) + 1)
	const marks = "\x1d()\\ 0123456789AZaz%&+-_/<\x00\xff]^"
	switch k := m.r.IntN(9); {
	case k == 0 && at < len(b):
		b[at] = marks[m.r.IntN(len(marks))]
	case k == 1:
		b = append(b[:at], append([]byte{marks[m.r.IntN(len(marks))]}, b[at:]...)...)
	case k == 2 && at < len(b):
		b = append(b[:at], b[min(len(b), at+1+m.r.IntN(4)):]...)
	case k == 3:
		b = b[:at]
	case k == 4:
		ai := m.ais[m.r.IntN(len(m.ais))]
		if m.r.IntN(2) == 0 {
			ai = "(" + ai + ")"
		}
		b = append(b[:at], append([]byte(ai), b[at:]...)...)
	case k == 5:
		b = append(b, m.seeds[m.r.IntN(len(m.seeds))]...)
	case k == 6 && at < len(b) && b[at]-'0' <= 9:
		b[at] = byte('0' + m.r.IntN(10))
	case k == 7:
		b = append(b, b[at:]...)
	default:
		b = append(append(b, m.ais[m.r.IntN(len(m.ais))]...), "100002601150"[:m.r.IntN(12)]...)
	}
	return b[:min(len(b), LabelMax+1)]
}

// Labels of all sorts, -labels of them: no panic, and what labelFault asks. `make
// fuzz-label` reads ten million.
func TestLabelsOfAllSorts(t *testing.T) {
	m := newMutator(t, 1)
	read, plain, refused := 0, 0, map[LabelCode]int{}
	for i := range *labelCount {
		data, year := m.label(), 1990+m.r.IntN(120)
		if fault := labelFault(data, year); fault != "" {
			t.Fatalf("label %d: %s", i, fault)
		}
		switch l, err := ParseLabel(data, year); {
		case err != nil:
			refused[err.(*LabelError).Code]++
		case l.Plain != "":
			plain++
		default:
			read++
		}
	}
	t.Logf("%d labels: %d read, %d plain text, refused %v", *labelCount, read, plain, refused)
	if share := *labelCount / 100; read < share || plain < share || len(refused) < 9 {
		t.Errorf("the labels are too much alike: %d read, %d plain, refused %v", read, plain, refused)
	}
}

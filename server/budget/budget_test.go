package budget

import (
	"fmt"
	"testing"
	"time"
)

func TestABudgetIsSpentAndRefilled(t *testing.T) {
	b, now := New(3, 10*time.Second), time.Date(2026, 3, 2, 6, 0, 0, 0, time.UTC)
	for range 5 { // looking costs nothing
		if wait := b.Wait("a", now); wait != 0 {
			t.Errorf("at first: wait %v", wait)
		}
	}
	for i := range 3 {
		if wait := b.Take("a", now); wait != 0 {
			t.Errorf("%d: wait %v", i, wait)
		}
	}
	for range 5 { // asking in vain costs nothing
		if wait := b.Take("a", now); wait.Round(time.Millisecond) != 10*time.Second {
			t.Errorf("with nothing left: wait %v, want 10 s", wait)
		}
	}
	if wait := b.Wait("a", now); wait.Round(time.Millisecond) != 10*time.Second {
		t.Errorf("looking with nothing left: wait %v, want 10 s", wait)
	}
	if wait := b.Take("b", now); wait != 0 {
		t.Errorf("somebody else: wait %v", wait)
	}
	if wait := b.Take("a", now.Add(4*time.Second)); wait.Round(time.Millisecond) != 6*time.Second {
		t.Errorf("after 4 s: wait %v, want 6 s", wait)
	}
	if wait := b.Take("a", now.Add(10*time.Second)); wait != 0 {
		t.Errorf("after 10 s: wait %v", wait)
	}
	for i := range 4 { // it never holds more than the burst
		if wait := b.Take("a", now.Add(time.Hour)); (wait != 0) != (i == 3) {
			t.Errorf("after an hour, %d: wait %v", i, wait)
		}
	}
}

func TestBudgetsStaySmallAndRememberWhoOwes(t *testing.T) {
	b, now := New(1, time.Hour), time.Date(2026, 3, 2, 6, 0, 0, 0, time.UTC)
	for i := range KeysMax - 1 {
		b.Take(fmt.Sprint("old ", i), now)
	}
	now = now.Add(2 * time.Hour) // these owe nothing any more
	b.Take("owes", now)
	for i := range 100 {
		b.Take(fmt.Sprint("new ", i), now)
	}
	if n := len(b.of); n > KeysMax {
		t.Errorf("%d keys are kept, want at most %d", n, KeysMax)
	}
	if b.Take("owes", now) == 0 {
		t.Error("who owes was forgotten for the sake of others who do not")
	}
}

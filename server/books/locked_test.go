package books

import (
	"testing"

	"hoppertally/domain/kind"
	"hoppertally/domain/shop"
)

// A fold that panics over an entry must not keep the books shut to everybody else.
func TestBooksStayOpenAfterAPanicOfTheFold(t *testing.T) {
	b := &Books{} // without a fold: whatever is asked of it panics
	func() {
		defer func() {
			if recover() == nil {
				t.Error("nothing panicked")
			}
		}()
		b.judge(nil, shop.Entry{Body: &kind.EntryNoted{}}, false)
	}()
	if !b.mu.TryLock() {
		t.Error("the books are locked for good")
	}
}

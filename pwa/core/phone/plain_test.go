package phone

import (
	"bytes"
	"testing"

	"hoppertally/sync/replica"
)

// received is a phone on which a manager has recorded a lot with its price.
func received(t *testing.T, scope replica.Scope) *rig {
	t.Helper()
	g := newRig(t, 1)
	g.base.Scope = scope
	g.open(false)
	g.setUp()
	l := g.lists()
	g.must(g.record("receive", map[string]string{"powder": l.Powders[0].ID, "batch": "B-9", "mass": "20 kg", "place": l.Places[0].Place, "price": "98.76"}))
	return g
}

const price = `"price":9876`

// What somebody typed on a phone without prices goes out whole, and stands nowhere else.
func TestAPhoneWithoutPricesHasNoneInItsBooks(t *testing.T) {
	for scope, want := range map[replica.Scope]bool{replica.Full: true, replica.Plain: false} {
		g := received(t, scope)
		for name, look := range map[string]func(){"as recorded": func() {}, "opened again": func() { g.open(false) }, "after the answer": g.sync} {
			look()
			saved, at, ok := g.p.Save()
			if !ok || at.Scope != scope || bytes.Contains(saved, []byte(price)) != want {
				t.Errorf("%s, %s: saved for %q with the price %v, want %v", scope, name, at.Scope, !want, want)
			}
		}
		g = received(t, scope)
		if !bytes.Contains(g.p.Unsent(), []byte(price)) {
			t.Errorf("%s: the entry that goes out has lost its price", scope)
		}
	}
}

// What is stored becomes, cut on the phone, to the byte what the server sends to those
// who may not see prices.
func TestStoredBooksAreCutAsTheServerCutsThem(t *testing.T) {
	g := received(t, replica.Full)
	g.sync()
	state := g.p.fold.State()
	full, plain := state.Encode(), state.Redacted().Encode()
	if !bytes.Contains(full, []byte(price)) {
		t.Fatal("the state holds no price: the test proves nothing")
	}
	page := g.pages[len(g.pages)-1]
	out, err := g.p.Call("plain", []byte(`{}`), [][]byte{full, page})
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(out.Blobs[0], plain) {
		t.Errorf("the state is cut to\n%s\nwant\n%s", out.Blobs[0], plain)
	}
	if want := bytes.ReplaceAll(page, []byte(","+price), nil); !bytes.Equal(out.Blobs[1], want) || len(want) == len(page) {
		t.Errorf("the page is cut to\n%s\nwant\n%s", out.Blobs[1], want)
	}
	if _, err := g.p.Call("plain", []byte(`{}`), [][]byte{[]byte(`{"price":`)}); err == nil {
		t.Error("half an object was cut")
	}
}

package https

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"testing"
	"time"
)

// notes is a Side in memory that counts writes.
type notes struct {
	m      map[string][]byte
	writes int
}

func (n *notes) Read(key string) ([]byte, error) { return n.m[key], nil }

func (n *notes) Write(changes map[string][]byte) error {
	n.writes++
	maps.Copy(n.m, changes)
	return nil
}

func openOrigins(t *testing.T, n *notes, c *clock, served ...string) *Origins {
	t.Helper()
	o, err := OpenOrigins(n, c.now)
	if err != nil {
		t.Fatal(err)
	}
	if served != nil {
		o.Serve(func() []string { return served })
	}
	return o
}

func saw(t *testing.T, o *Origins, origin string) bool {
	t.Helper()
	isNew, err := o.Saw(origin)
	if err != nil {
		t.Fatal(err)
	}
	return isNew
}

func left(o *Origins, besides string) string {
	var out []string
	for _, u := range o.Left(besides) {
		out = append(out, u.Origin)
	}
	return strings.Join(out, " ")
}

func TestAnAddressThatPhonesUsedAndThatLeadsNowhereIsLeft(t *testing.T) {
	n, c := &notes{m: map[string][]byte{}}, &clock{}
	o := openOrigins(t, n, c, "https://hopper.lan:8377", "https://192.168.1.20:8377")
	if saw(t, o, "https://hopper.lan:8377") {
		t.Error("the first address of all is not a new one")
	}
	c.pass(time.Minute)
	if !saw(t, o, "https://192.168.1.20:8377") || saw(t, o, "https://192.168.1.20:8377") {
		t.Error("the second is new once")
	}
	if l := left(o, ""); l != "" {
		t.Errorf("left %s, but both are served", l)
	}
	moved := openOrigins(t, n, c, "https://hopper.lan:9000") // the next start, on another port
	if l := left(moved, ""); l != "https://192.168.1.20:8377 https://hopper.lan:8377" {
		t.Errorf("left %q, want both, the one used last first", l)
	}
	if l := left(moved, "https://hopper.lan:8377"); l != "https://192.168.1.20:8377" {
		t.Errorf("left %q for one who came by the other", l)
	}
	if l := left(openOrigins(t, n, c), ""); l != "" {
		t.Errorf("left %q although nobody knows what is served", l)
	}
	c.pass(60*day + time.Second)
	if l := left(moved, ""); l != "https://192.168.1.20:8377" && l != "" {
		t.Errorf("after 60 days: %q", l)
	}
}

func TestOriginsAreWrittenOnceAnHour(t *testing.T) {
	n, c := &notes{m: map[string][]byte{}}, &clock{}
	o := openOrigins(t, n, c, "x")
	for range 100 {
		saw(t, o, "https://hopper.lan")
	}
	if n.writes != 1 {
		t.Errorf("%d writes", n.writes)
	}
	c.pass(originWrite)
	saw(t, o, "https://hopper.lan")
	if n.writes != 2 {
		t.Errorf("%d writes after an hour", n.writes)
	}
	if u := openOrigins(t, n, c, "x").Left(""); len(u) != 1 || u[0].LastMS != c.now().UnixMilli() {
		t.Errorf("%v", u)
	}
}

func TestWhatIsNoOriginIsNotRemembered(t *testing.T) {
	n, c := &notes{m: map[string][]byte{}}, &clock{}
	o := openOrigins(t, n, c, "x")
	for _, s := range []string{"", "null", "https://", "hopper.lan", "ftp://hopper.lan", "https://hopper.lan/path", "https://a@hopper.lan", "https://" + strings.Repeat("a", originBytes), "\x00"} {
		saw(t, o, s)
	}
	if n.writes != 0 || len(o.seen) != 0 {
		t.Errorf("%v", o.seen)
	}
}

func TestTheLatestOriginsAreKept(t *testing.T) {
	n, c := &notes{m: map[string][]byte{}}, &clock{}
	o := openOrigins(t, n, c, "x")
	for i := range OriginsMax + 1 {
		c.pass(time.Minute)
		saw(t, o, fmt.Sprintf("https://h%d.lan", i))
	}
	u := o.Left("")
	if len(u) != OriginsMax || u[0].Origin != fmt.Sprintf("https://h%d.lan", OriginsMax) || slices.ContainsFunc(u, func(u Used) bool { return u.Origin == "https://h0.lan" }) {
		t.Errorf("%d: %v", len(u), u)
	}
}

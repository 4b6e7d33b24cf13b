package main

import (
	"context"
	"fmt"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"hoppertally/server/store"
	"hoppertally/sync/entry"
	"hoppertally/sync/hub"
)

// Nobody takes the shop, nobody loses it, and the machine itself is always the way back.

// In four taps the only manager once took her own right away, and any coater took the
// shop after that.
func TestTheOnlyManagerCannotLockHerselfOut(t *testing.T) {
	a := attack(t)
	_, mias := a.person("add", "Mia", "--role", "manager")
	_, anas := a.person("add", "Ana", "--role", "coater")
	a.serve()
	mia, ana := a.caller("phone-m", "the secret of Mia's"), a.caller("phone-a", "the secret of Ana's")
	mia.enter(mias, "")
	ana.enter(anas, "")
	void := fmt.Sprintf(`{"entry":%q,"why":"mistake"}`, mia.setOf(mia.person))
	mia.says("entry.voided", void, "held last_manager")
	mia.says("person.set", setPerson(mia.person, "Mia", "coater", false), "held last_manager")
	demoted, said := mia.push("person.set", setPerson(mia.person, "Mia", "manager", true))
	if said != "held last_manager" {
		t.Errorf("the only manager leaves: %s", said)
	}
	mia.says("entry.released", fmt.Sprintf(`{"entry":%q}`, demoted), "held last_manager")
	ana.says("person.set", setPerson(ana.person, "Ana", "manager", false), "held role")
	mia.says("powder.set", `{"powder":"p","name":"P","chemistry":"polyester","sg_milli":1500,"film_um10":{"min":1,"target":2,"max":3},"reclaim_max_pm":0,"price":777}`, "accepted")
	for _, c := range []*caller{mia, ana} {
		status, answer := c.ask("GET", "export/entries.json", nil)
		if status != 200 || strings.Contains(answer, "7.77") != (c == mia) {
			t.Errorf("on %s the price shows: %d %s", c.device, status, answer)
		}
	}
	if status, answer := mia.ask("POST", "people/"+ana.person+"/invite", nil); status != 200 {
		t.Errorf("the manager is no manager any more: %d %s", status, answer)
	}
}

// Two managers who demote each other without signal, in one push each and close together.
func TestOfTwoManagersWhoTakeEachOtherAwayOneStays(t *testing.T) {
	a := attack(t)
	_, mias := a.person("add", "Mia", "--role", "manager")
	_, bos := a.person("add", "Bo", "--role", "manager")
	a.serve()
	mia, bo := a.caller("phone-m", "the secret of Mia's"), a.caller("phone-b", "the secret of Bo's")
	mia.enter(mias, "")
	bo.enter(bos, "")
	bo.says("person.set", setPerson(mia.person, "Mia", "coater", false), "accepted")
	mia.says("person.set", setPerson(bo.person, "Bo", "coater", false), "held role")
	bo.says("person.set", setPerson(bo.person, "Bo", "clerk", false), "held last_manager")
	bo.says("person.set", setPerson(mia.person, "Mia", "manager", false), "accepted")
	// in one push, which the server would rather take in one piece
	if _, said := bo.pushAll("person.set", setPerson(mia.person, "Mia", "coater", false), setPerson(bo.person, "Bo", "clerk", false), setPerson(mia.person, "Mia", "manager", false)); said != "accepted, held last_manager, accepted" {
		t.Errorf("first her, then himself: %s", said)
	}
	// both at once, in one commit if the server likes
	said := make(chan string, 2)
	for _, c := range []*caller{mia, bo} {
		go func() {
			_, got := c.push("person.set", setPerson(c.person, "X", "manager", true))
			said <- got
		}()
	}
	if one, other := <-said, <-said; !(one == "accepted" && other == "held last_manager" || one == "held last_manager" && other == "accepted") {
		t.Errorf("both leave at once: %s, %s", one, other)
	}
}

// A folder in which a program before let the last manager go, in each way.
func TestTheMachineIsTheWayBackIntoAShopWithoutAManager(t *testing.T) {
	bin := build(t)
	for _, tt := range []struct{ name, kind, body, add string }{
		{"she left", "person.set", `{"person":"MIA","name":"Mia","role":"manager","gone":true}`, "Mia"},
		{"she is a coater", "person.set", `{"person":"MIA","name":"Mia","role":"coater"}`, "Mia"},
		{"what made her was voided", "entry.voided", `{"entry":"SET","why":"mistake"}`, "Noa"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			a := &attacked{t: t, bin: bin, data: filepath.Join(t.TempDir(), "shop")}
			_, mias := a.person("add", "Mia", "--role", "manager")
			_, anas := a.person("add", "Ana", "--role", "coater")
			a.serve()
			mia, ana := a.caller("phone-m", "the secret of Mia's"), a.caller("phone-a", "the secret of Ana's")
			mia.enter(mias, "")
			ana.enter(anas, "")
			body := strings.NewReplacer("MIA", mia.person, "SET", mia.setOf(mia.person)).Replace(tt.body)
			a.stop()
			letIn(t, a.data, mia.person, tt.kind, body)
			a.serve()
			ana.says("person.set", setPerson(ana.person, "Ana", "manager", false), "held role")
			a.stop()
			_, code := a.person("add", tt.add, "--role", "manager")
			said, clerks := a.person("add", "Cid", "--role", "clerk")
			if code == "" || clerks == "" {
				t.Fatalf("no way in: %s", said)
			}
			a.person("invite", "Ana")
			a.serve()
			back := a.caller("phone-x", "the secret of another")
			back.enter(code, "")
			back.says("person.set", setPerson("p-new", "New", "coater", false), "accepted")
		})
	}
}

// everything is a judge that lets everything in, as a program before did.
type everything struct{ hub.Strict }

func (everything) Judge(*entry.Entry, string, int64) (hub.Outcome, string) { return hub.Accepted, "" }

func letIn(t *testing.T, data, by, kind, body string) {
	t.Helper()
	st, err := store.Open(data, store.Options{Judge: everything{}, MinFree: 1 << 20})
	if err != nil {
		t.Fatal(err)
	}
	now := time.Now().UnixMilli()
	raw := entry.Append(nil, entry.Header{ID: entry.NewID(now, [10]byte{1: 7}), Kind: kind, V: 1, By: by, Device: "phone-m", N: 1, AtMS: now,
		Clock: entry.Clock{WallMS: now, Segment: "s"}}, []byte(body))
	got, err := st.Push(context.Background(), store.PushRequest{Author: by, Device: "phone-m", Entries: [][]byte{raw}})
	if err != nil || got[0].Outcome != hub.Accepted {
		t.Fatalf("%+v, %v", got, err)
	}
	if err := st.Close(); err != nil {
		t.Fatal(err)
	}
}

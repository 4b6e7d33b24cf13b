package api_test

import (
	"cmp"
	"fmt"
	"maps"
	"net/url"
	"slices"
	"strings"
	"testing"

	"hoppertally/domain/kind"
	"hoppertally/domain/view"
	"hoppertally/server/api"
)

// Who may do what, seen from the outside of a running server: every route, every
// kind of entry and every view for every sort of sender. What the tables here say is
// written by hand; a route, kind or view without a row fails.

// senders in the order of the columns below.
var senders = []string{"nobody", "coater", "clerk", "manager", "gone", "shut coater", "shut manager"}

// changed are senders to whom something happened while they were signed in, each in whose
// column they belong from the next request on. Whatever let them see more is still in
// their hands: the token, the cookie, the address of a piece.
var changed = map[string]string{
	"demoted":      "coater", // was manager
	"unmade":       "coater", // what made them manager was voided
	"changed over": "coater", // whose phone a manager had used, who signed out
	"signed out":   "gone",   // a manager
}

// everySender is all of them, in order.
func everySender() []string { return slices.Concat(senders, slices.Sorted(maps.Keys(changed))) }

// roleOf is the column of a sender.
func roleOf(sender string) string { return cmp.Or(changed[sender], sender) }

// wanted is what a sender gets from a row.
func wanted(name, row, sender string) string {
	want := strings.Fields(row)[slices.Index(senders, roleOf(sender))]
	if sender == "signed out" && strings.Contains(name, " /api/v1/session") && want != "auth.none" && name != "POST /api/v1/session" {
		return "auth.ended" // they work here, and that session is over
	}
	return want
}

// Words of the columns.
const (
	everybody = "ok ok ok ok ok ok ok"
	insiders  = "auth.none ok ok ok auth.ended phone.revoked phone.revoked"
	handsIn   = "auth.none ok ok ok auth.ended ok ok"
	managers  = "auth.none role.may_not role.may_not ok auth.ended phone.revoked phone.revoked"
)

// routeTable says what each sender gets. ID stands for the sender's own id, DEVICE for
// their phone.
var routeTable = map[string]struct{ path, body, want string }{
	"GET /healthz":                                      {"/healthz", "", everybody},
	"GET /readyz":                                       {"/readyz", "", everybody},
	"GET /metrics":                                      {"/metrics", "", everybody},
	"GET /api/v1/openapi.json":                          {"/api/v1/openapi.json", "", everybody},
	"GET /api/v1/setup":                                 {"/api/v1/setup", "", everybody},
	"POST /api/v1/setup":                                {"/api/v1/setup", `{"code":"x","name":"E","passphrase":"long enough","device":"d","shop":{"name":"S","zone":"UTC","units":"metric","currency":"EUR","lang":"en"}}`, strings.TrimSpace(strings.Repeat("setup.done ", 7))},
	"POST /api/v1/session":                              {"/api/v1/session", `{"code":"CODE","device":"dev-new"}`, everybody},
	"POST /api/v1/session/refresh":                      {"/api/v1/session/refresh", "", "auth.ended ok ok ok auth.gone ok ok"},
	"DELETE /api/v1/session":                            {"/api/v1/session", "", "auth.ended ok ok ok ok ok ok"},
	"POST /api/v1/people/{id}/invite":                   {"/api/v1/people/p-bea/invite", "", managers},
	"GET /api/v1/people/{id}/sessions":                  {"/api/v1/people/p-bea/sessions", "", managers},
	"GET /api/v1/people/{id}/sessions own":              {"/api/v1/people/ID/sessions", "", insiders},
	"DELETE /api/v1/people/{id}/sessions/{session}":     {"/api/v1/people/p-bea/sessions/x", "", "auth.none role.may_not role.may_not people.session auth.ended phone.revoked phone.revoked"},
	"DELETE /api/v1/people/{id}/sessions/{session} own": {"/api/v1/people/ID/sessions/x", "", "auth.none people.session people.session people.session auth.ended phone.revoked phone.revoked"},
	"POST /api/v1/people/{id}/sign-out":                 {"/api/v1/people/p-bea/sign-out", "", managers},
	"POST /api/v1/people/{id}/sign-out own":             {"/api/v1/people/ID/sign-out", "", insiders},
	"GET /api/v1/me":                                    {"/api/v1/me", "", handsIn},
	"POST /api/v1/me/passphrase":                        {"/api/v1/me/passphrase", `{"new":"a few words"}`, insiders},
	"GET /api/v1/phones":                                {"/api/v1/phones", "", managers},
	"POST /api/v1/phones/{id}/name":                     {"/api/v1/phones/dev-other/name", `{"name":"x"}`, managers},
	"POST /api/v1/phones/{id}/name own":                 {"/api/v1/phones/DEVICE/name", `{"name":"x"}`, insiders},
	"POST /api/v1/phones/{id}/revoke":                   {"/api/v1/phones/dev-other/revoke", "", managers},
	"POST /api/v1/phones/{id}/restore":                  {"/api/v1/phones/dev-other/restore", "", managers},
	"POST /api/v1/phones/{id}/restore own":              {"/api/v1/phones/DEVICE/restore", "", managers},
	"GET /api/v1/events":                                {"/api/v1/events", "", managers},
	"GET /api/v1/hello":                                 {"/api/v1/hello", "", "ok ok ok ok auth.ended ok ok"},
	"POST /api/v1/push":                                 {"/api/v1/push", `{"entries":[]}`, handsIn},
	"GET /api/v1/pull":                                  {"/api/v1/pull?epoch=EPOCH", "", insiders},
	"GET /api/v1/pull plain":                            {"/api/v1/pull?epoch=EPOCH&scope=plain", "", insiders},
	"GET /api/v1/pull full":                             {"/api/v1/pull?epoch=EPOCH&scope=full", "", "auth.none scope.denied scope.denied ok auth.ended phone.revoked phone.revoked"},
	"GET /api/v1/snapshot":                              {"/api/v1/snapshot", "", insiders},
	"GET /api/v1/snapshot full":                         {"/api/v1/snapshot?scope=full", "", "auth.none scope.denied scope.denied ok auth.ended phone.revoked phone.revoked"},
	"GET /api/v1/snapshot/{sha256}":                     {"/api/v1/snapshot/PLAIN", "", insiders},
	"GET /api/v1/snapshot/{sha256} full":                {"/api/v1/snapshot/FULL", "", "auth.none snapshot.gone snapshot.gone ok auth.ended phone.revoked phone.revoked"},
	"GET /api/v1/live":                                  {"", "", everybody}, // looked at apart: it never ends
	"POST /api/v1/calc/{name}":                          {"/api/v1/calc/reclaim.charge", `{"want_mg":20000000,"share_pm":300,"reclaim_mg":50000000,"virgin_mg":50000000}`, insiders},
	"GET /api/v1/export/{file}":                         {"/api/v1/export/stock.json", "", insiders},
}

// cast makes a phone for a sender; nth tells apart those that are used up.
func (p *place) cast(sender string, nth int) *phone {
	p.t.Helper()
	device := fmt.Sprintf("dev-%s-%d", strings.ReplaceAll(sender, " ", "-"), nth)
	switch sender {
	case "nobody":
		return p.newPhone(device)
	case "gone", "demoted", "unmade":
		return p.recast(sender, fmt.Sprintf("p-%s-%d", sender, nth), device)
	case "changed over":
		ph := p.signIn("p-ana", device)
		own := ph.access
		ph.join("p-mia")
		ph.seeAll()
		ph.do("DELETE", "/api/v1/session", nil).want(204)
		ph.access, ph.person = own, "p-ana"
		return ph
	case "signed out":
		ph := p.signIn("p-mia", device)
		ph.seeAll()
		kept := ph.cookies()
		ph.do("DELETE", "/api/v1/session", nil).want(204)
		u, err := url.Parse(ph.base + "/api/v1/session/refresh")
		if err != nil {
			p.t.Fatal(err)
		}
		ph.http.Jar.SetCookies(u, kept)
		return ph
	}
	ph := p.signIn(map[string]string{"coater": "p-ana", "clerk": "p-cid", "manager": "p-mia"}[strings.TrimPrefix(sender, "shut ")], device)
	if strings.HasPrefix(sender, "shut ") {
		if err := p.house.Auth.Revoke(device, "p-mia"); err != nil {
			p.t.Fatal(err)
		}
	}
	return ph
}

// recast makes somebody, signs them in, and then has the manager change who they are.
func (p *place) recast(sender, id, device string) *phone {
	p.t.Helper()
	mia := p.signIn("p-mia", device+"-m")
	be := func(role string, gone bool) string {
		e := mia.entry("person.set", fmt.Sprintf(`{"person":%q,"name":%q,"role":%q,"gone":%v}`, id, id, role, gone))
		if r := mia.push(e)[0]; r.Outcome != "accepted" {
			p.t.Fatalf("%s becomes %s: %+v", id, role, r)
		}
		return idOf(e)
	}
	be("coater", false)
	if sender == "gone" {
		ph := p.signIn(id, device)
		be("coater", true)
		return ph
	}
	made := be("manager", false)
	ph := p.signIn(id, device)
	ph.seeAll()
	if sender == "unmade" {
		mia.push(mia.entry("entry.voided", fmt.Sprintf(`{"entry":%q,"why":"mistake"}`, made)))
	} else {
		be("coater", false)
	}
	return ph
}

// seeAll reads what only a manager may see.
func (ph *phone) seeAll() {
	ph.t.Helper()
	if a := ph.do("GET", "/api/v1/pull?scope=full&epoch="+ph.house.Epoch(), nil).want(200); !strings.Contains(string(a.body), `"price"`) {
		ph.t.Fatalf("a manager does not see a price: %.300s", a.body)
	}
}

func TestEveryRouteForEverySender(t *testing.T) {
	p := start(t, options{})
	p.signIn("p-bea", "dev-other")
	demo, err := p.house.Auth.DemoCode("p-bea")
	if err != nil {
		t.Fatal(err)
	}
	piece := func(scope string) string { // the one that holds a price, or would
		var snap snapshot
		p.signIn("p-mia", "dev-m").do("GET", "/api/v1/snapshot?scope="+scope, nil).want(200).json(&snap)
		return snap.Pieces[len(snap.Pieces)-1].SHA256
	}
	fill := func(s string, ph *phone) string {
		return strings.NewReplacer("CODE", demo, "EPOCH", p.house.Epoch(), "ID", cmp.Or(ph.person, "p-nobody"), "DEVICE", ph.device, "PLAIN", piece("plain"), "FULL", piece("full")).Replace(s)
	}
	for _, r := range api.Routes() {
		name := strings.Join(strings.Fields(r)[:2], " ")
		if _, ok := routeTable[name]; !ok {
			t.Errorf("%s has no row: who may use it?", name)
		}
	}
	nth := 0
	for name, row := range routeTable {
		if row.path == "" {
			continue
		}
		method, _, _ := strings.Cut(name, " ")
		for _, sender := range everySender() {
			nth++
			ph := p.cast(sender, nth)
			var body any
			if row.body != "" {
				body = []byte(fill(row.body, ph))
			}
			a := ph.do(method, fill(row.path, ph), body)
			got := "ok"
			if a.status >= 400 {
				got = a.code()
			}
			if want := wanted(name, row.want, sender); got != want {
				t.Errorf("%s by %s: %s, want %s", name, sender, got, want)
			}
			if sender != "manager" && strings.Contains(string(a.body), `"price"`) && !strings.HasSuffix(name, "openapi.json") {
				t.Errorf("%s shows %s a price", name, sender)
			}
		}
	}
}

// kindTable says who may record what: c a coater, k a clerk, m a manager.
var kindTable = map[string]struct{ body, may string }{
	"shop.set":         {`{"name":"S","zone":"UTC","units":"us","currency":"USD","lang":"en"}`, "m"},
	"powder.set":       {`{"powder":"pw-2","name":"P","chemistry":"epoxy","sg_milli":1500,"film_um10":{"min":1,"target":2,"max":3},"reclaim_max_pm":300,"price":777}`, "m"},
	"booth.set":        {`{"booth":"b-1","name":"B"}`, "m"},
	"place.set":        {`{"place":"bin-1","name":"Bin","kind":"vessel"}`, "km"},
	"person.set":       {`{"person":"p-new","name":"New","role":"coater"}`, "m"},
	"setup.set":        {`{"setup":"s-1"}`, "ckm"},
	"lot.received":     {`{"lot":"lot-9","powder":"pw-1","batch":"b","place":"shelf-1","mass_mg":5,"price":777}`, "km"},
	"lot.held":         {`{"lot":"lot-1"}`, "km"},
	"lot.released":     {`{"lot":"lot-1"}`, "km"},
	"powder.moved":     {moved, "ckm"},
	"powder.recovered": {`{"run":"r-1","from":"hopper-1","to":"hopper-1","mass_mg":1}`, "ckm"},
	"place.weighed":    {`{"place":"hopper-1","mass_mg":600}`, "ckm"},
	"change.started":   {`{"booth":"b-1","powder":"pw-1","level":"full"}`, "ckm"},
	"change.finished":  {`{"booth":"b-1","change":"x"}`, "ckm"},
	"booth.cleaned":    {`{"booth":"b-1","level":"full"}`, "ckm"},
	"run.opened":       {`{"run":"r-1","booth":"b-1","powder":"pw-1","feed":"hopper-1","mode":"waste"}`, "ckm"},
	"run.closed":       {`{"run":"r-1"}`, "ckm"},
	"parts.coated":     {`{"run":"r-1","job":"j","count":1,"area_cm2":1}`, "ckm"},
	"film.read":        {`{"run":"r-1","spots":[700]}`, "ckm"},
	"output.tested":    {`{"booth":"b-1","powder":"pw-1","main_kpa":200,"mg_per_min":1}`, "ckm"},
	"deposit.tested":   {`{"booth":"b-1","powder":"pw-1","mg_per_min":1,"te_pm":600}`, "ckm"},
	"cure.read":        {`{"run":"r-1","points":[{"s":0,"temp_dc":200},{"s":60,"temp_dc":1800}]}`, "ckm"},
	"room.read":        {`{"temp_dc":220}`, "ckm"},
	"ground.checked":   {`{"booth":"b-1","ok":true}`, "ckm"},
	"job.planned":      {`{"job":"j","powder":"pw-1","count":1,"area_cm2":1}`, "km"},
	"entry.voided":     {`{"entry":"x","why":"mistake"}`, "ckm"},
	"entry.noted":      {`{"entry":"x","text":"seen"}`, "ckm"},
	"entry.released":   {`{"entry":"x"}`, "m"},
	"entry.declined":   {`{"entry":"x"}`, "m"},
	"books.closed":     {`{"through":"2020-01-01T00:00:00Z"}`, "m"},
}

func TestEveryKindOfEntryForEverySender(t *testing.T) {
	p := start(t, options{})
	letter := map[string]string{"coater": "c", "clerk": "k", "manager": "m"}
	for _, name := range kind.Names() {
		if _, ok := kindTable[name]; !ok {
			t.Errorf("%s has no row: who may record it?", name)
		}
	}
	for i, sender := range []string{"coater", "clerk", "manager", "shut coater", "shut manager", "demoted", "unmade", "changed over"} {
		ph := p.cast(sender, i)
		for _, name := range slices.Sorted(slices.Values(kind.Names())) {
			row := kindTable[name]
			want, why := "accepted", ""
			if role, isShut := strings.CutPrefix(roleOf(sender), "shut "); !strings.Contains(row.may, letter[role]) {
				want, why = "held", "role"
			} else if isShut {
				want, why = "held", "device_revoked"
			}
			r := ph.push(ph.entry(name, row.body))[0]
			if r.Outcome != want || want == "held" && r.Reason != why {
				t.Errorf("%s by %s: %s %q, want %s %q", name, sender, r.Outcome, r.Reason, want, why)
			}
		}
		if r := ph.push(ph.entry("rocket.launched", `{}`))[0]; r.Outcome != "held" || r.Reason != "newer_version" {
			t.Errorf("a kind nobody knows by %s: %+v", sender, r)
		}
		if r := ph.push(ph.entryBy("p-bea", "powder.moved", moved))[0]; r.Outcome != "held" {
			t.Errorf("an entry under another's name by %s: %+v", sender, r)
		}
	}
	// nobody, who left and who signed out hand in nothing at all
	for _, sender := range []string{"nobody", "gone", "signed out"} {
		ph := p.cast(sender, 99)
		if a := ph.do("POST", "/api/v1/push", pushBody(ph.entry("powder.moved", moved))); a.status != 401 {
			t.Errorf("a push by %s: %d", sender, a.status)
		}
	}
}

// viewTable says which views show a manager what something costs. Every role may
// look at every view.
var viewTable = map[string]struct {
	params string
	priced bool
}{
	"booth": {"booth=b-1", false}, "room": {"", true}, "office": {"", false}, "lots": {"powder=pw-1", false}, "lists": {"", false}, "run": {"run=r-1", false},
	"runs": {"", false}, "stock": {"", false}, "changes": {"", false}, "place": {"place=shelf-1", false}, "entries": {"", true}, "attention": {"", false},
	"trace": {"lot=lot-1", false}, "jobs": {"job=gate", false}, "need": {"powder=pw-1", false}, "shop": {"", false}, "people": {"", false}, "powders": {"", false}, "booths": {"", false}, "gun": {"", false}, "setups": {"", false}, "today": {"", false},
}

func TestEveryViewAndFormatForEverySender(t *testing.T) {
	p := start(t, options{})
	mia := p.signIn("p-mia", "dev-1")
	mia.push(mia.entry("booth.set", kindTable["booth.set"].body), mia.entry("run.opened", kindTable["run.opened"].body), mia.entry("parts.coated", kindTable["parts.coated"].body))
	for _, name := range view.Names() {
		if _, ok := viewTable[name]; !ok {
			t.Errorf("the view %s has no row: does it show prices?", name)
		}
	}
	tables := []string{"stock", "lots", "count-sheet", "runs", "changes", "entries", "attention"}
	for i, sender := range everySender() {
		ph := p.cast(sender, i)
		may := slices.Contains([]string{"coater", "clerk", "manager"}, roleOf(sender))
		look := func(file, params string, priced bool) {
			a := ph.do("GET", "/api/v1/export/"+file+"?"+url.PathEscape(params), nil)
			if may != (a.status == 200) || !may && a.status != 401 && a.status != 403 {
				t.Errorf("%s by %s: %d %.200s", file, sender, a.status, a.body)
			}
			if shows := strings.Contains(string(a.body), "7.77") || strings.Contains(string(a.body), `"777"`); shows != (priced && sender == "manager") && !strings.HasSuffix(file, "xlsx") {
				t.Errorf("%s shows %s a price: %v", file, sender, shows)
			}
		}
		for name, row := range viewTable {
			look(name+".json", row.params, row.priced)
		}
		for _, name := range tables {
			look(name+".csv", "", name == "entries")
			look(name+".xlsx", "", false)
		}
	}
	// a workbook is packed: look into its cells
	for sender, priced := range map[string]bool{"coater": false, "clerk": false, "manager": true} {
		for _, name := range tables {
			b := p.cast(sender, 50).do("GET", "/api/v1/export/"+name+".xlsx", nil).want(200).body
			if shows := strings.Contains(cells(t, name, b), "7.77"); shows != (priced && name == "entries") {
				t.Errorf("%s.xlsx shows %s a price: %v", name, sender, shows)
			}
		}
	}
}

package api_test

import (
	"encoding/json"
	"fmt"
	"net/url"
	"slices"
	"strings"
	"testing"

	"hoppertally/server/api"
)

// described is openapi.json as far as the tests read it.
type described struct {
	Paths map[string]map[string]struct {
		Responses map[string]struct {
			Content map[string]struct{ Schema any }
		}
		RequestBody *struct {
			Content map[string]struct{ Schema any }
		}
		Problems []string `json:"x-problems"`
		Who      string   `json:"x-who"`
	}
	Components struct{ Schemas map[string]any }
}

func describe(t *testing.T) (d described) {
	t.Helper()
	if err := json.Unmarshal(api.Document(), &d); err != nil {
		t.Fatal(err)
	}
	return d
}

// fits tells what does not fit a schema, as far as our document uses JSON Schema.
func (d *described) fits(schema any, v any, at string) (faults []string) {
	s, ok := schema.(map[string]any)
	if !ok {
		return nil
	}
	if r, ok := s["$ref"].(string); ok {
		return d.fits(d.Components.Schemas[strings.TrimPrefix(r, "#/components/schemas/")], v, at)
	}
	bad := func(f string, a ...any) { faults = append(faults, at+": "+fmt.Sprintf(f, a...)) }
	if e, ok := s["enum"].([]any); ok && !slices.Contains(e, v) {
		bad("%v is none of %v", v, e)
	}
	switch s["type"] {
	case "object":
		o, ok := v.(map[string]any)
		if !ok {
			bad("%T, want an object", v)
			return faults
		}
		props, _ := s["properties"].(map[string]any)
		req, _ := s["required"].([]any)
		for _, r := range req {
			if _, ok := o[r.(string)]; !ok {
				bad("%s is missing", r)
			}
		}
		for k, x := range o {
			if p, ok := props[k]; ok {
				faults = append(faults, d.fits(p, x, at+"."+k)...)
			} else if s["additionalProperties"] == false {
				bad("%s is not described", k)
			}
		}
	case "array":
		list, ok := v.([]any)
		if !ok {
			bad("%T, want a list", v)
		}
		for i, x := range list {
			faults = append(faults, d.fits(s["items"], x, fmt.Sprintf("%s[%d]", at, i))...)
		}
	case "string":
		if _, ok := v.(string); !ok {
			bad("%T, want a text", v)
		}
	case "boolean":
		if _, ok := v.(bool); !ok {
			bad("%T, want yes or no", v)
		}
	case "integer":
		if x, ok := v.(float64); !ok || x != float64(int64(x)) {
			bad("%v, want a whole number", v)
		}
	}
	return faults
}

func TestTheDescriptionAndTheRoutesAgree(t *testing.T) {
	d := describe(t)
	var got, want []string
	for path, ops := range d.Paths {
		for method, op := range ops {
			got = append(got, strings.ToUpper(method)+" "+path+" "+op.Who)
		}
	}
	want = append(want, api.Routes()...)
	slices.Sort(got)
	slices.Sort(want)
	if !slices.Equal(got, want) {
		t.Errorf("described:\n%s\nregistered:\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
}

func TestTheProblemTableIsTheOnlySourceOfCodes(t *testing.T) {
	d := describe(t)
	enum := d.Components.Schemas["Problem"].(map[string]any)["properties"].(map[string]any)["code"].(map[string]any)["enum"].([]any)
	seen := map[string]bool{}
	for i, r := range api.Table {
		if seen[r.Code] || r.Title == "" || r.Status < 400 || r.Status > 599 {
			t.Errorf("row %+v: twice, or without words, or no refusal", r)
		}
		seen[r.Code] = true
		if i >= len(enum) || enum[i] != r.Code {
			t.Errorf("openapi.json does not list %s in its place", r.Code)
		}
	}
	if len(enum) != len(api.Table) {
		t.Errorf("openapi.json lists %d codes, the table has %d", len(enum), len(api.Table))
	}
	for path, ops := range d.Paths {
		for method, op := range ops {
			for _, c := range op.Problems {
				if !seen[c] {
					t.Errorf("%s %s expects %s, which is not in the table", method, path, c)
				}
			}
		}
	}
}

// walk is a visit to every route, each with an answer that must fit its description.
func TestEveryRouteAnswersAsDescribed(t *testing.T) {
	p := start(t, options{empty: true})
	d := describe(t)
	visited := map[string]bool{}
	stranger := p.newPhone("dev-0")
	check := func(ph *phone, method, path, pattern string, body any, status int) *answer {
		t.Helper()
		op, ok := d.Paths[pattern][strings.ToLower(method)]
		if !ok {
			t.Fatalf("%s %s is not described", method, pattern)
		}
		visited[method+" "+pattern] = true
		a := ph.do(method, path, body).want(status)
		kind, _, _ := strings.Cut(a.head.Get("Content-Type"), ";")
		key := fmt.Sprint(status)
		if status >= 400 {
			key = "default"
		}
		content, ok := op.Responses[key].Content[kind]
		if len(a.body) > 0 && !ok {
			t.Errorf("%s %s answers %d %s, which is not described", method, path, status, kind)
		}
		if strings.HasSuffix(kind, "json") {
			var v any
			a.json(&v)
			for _, f := range d.fits(content.Schema, v, method+" "+pattern) {
				t.Error(f)
			}
		}
		if strings.HasPrefix(path, "/api/") && a.head.Get("Cache-Control") != "no-store" {
			t.Errorf("%s %s may be cached: %q", method, path, a.head.Get("Cache-Control"))
		}
		return a
	}
	const v1 = "/api/v1"
	check(stranger, "GET", "/healthz", "/healthz", nil, 200)
	check(stranger, "GET", "/readyz", "/readyz", nil, 200)
	check(stranger, "GET", "/metrics", "/metrics", nil, 200)
	check(stranger, "GET", v1+"/openapi.json", v1+"/openapi.json", nil, 200)
	check(stranger, "GET", v1+"/hello", v1+"/hello", nil, 200)
	if b := check(stranger, "GET", v1+"/setup", v1+"/setup", nil, 200).body; string(b) != `{"needed":true,"left":[]}` {
		t.Errorf("setup of an empty shop: %s", b)
	}
	set := map[string]any{"name": "Werk", "zone": "Europe/Madrid", "units": "metric", "currency": "EUR", "lang": "es"}
	mia := p.newPhone("dev-mia")
	mia.take(check(mia, "POST", v1+"/setup", v1+"/setup", map[string]any{"code": p.house.Auth.SetUpCode(), "name": "Mia Å", "passphrase": "polvo y más polvo",
		"shop": set, "device": "dev-mia", "app_version": "7"}, 200))
	again := check(stranger, "POST", v1+"/setup", v1+"/setup", map[string]any{"code": "X", "name": "Eve", "passphrase": "long enough", "shop": set, "device": "e"}, 409)
	again.refused("setup.done")
	mia.take(check(mia, "POST", v1+"/session/refresh", v1+"/session/refresh", nil, 200))
	check(mia, "GET", v1+"/hello", v1+"/hello", nil, 200)

	ana := mia.entry("person.set", `{"person":"ana","name":"Ana","role":"coater","gone":false}`)
	var pushed struct{ Results []result }
	check(mia, "POST", v1+"/push", v1+"/push", pushBody(ana, ana, []byte(`{"id":7}`)), 200).json(&pushed)
	if r := pushed.Results; len(r) != 3 || r[0].Outcome != "accepted" || r[1].Outcome != "duplicate" || r[1].Stands != "accepted" || r[2].Outcome != "refused" {
		t.Errorf("results %+v", pushed.Results)
	}
	check(mia, "GET", v1+"/pull?epoch="+p.house.Epoch()+"&after=0", v1+"/pull", nil, 200)
	var snap snapshot
	check(mia, "GET", v1+"/snapshot?after=1", v1+"/snapshot", nil, 200).json(&snap)
	check(mia, "GET", v1+"/snapshot/"+snap.Pieces[0].SHA256, v1+"/snapshot/{sha256}", nil, 200)
	var link struct {
		Link string
		MS   int64 `json:"expires_ms"`
	}
	check(mia, "POST", v1+"/people/ana/invite", v1+"/people/{id}/invite", nil, 200).json(&link)
	_, code, ok := strings.Cut(link.Link, p.base+"/#in=")
	if !ok {
		t.Fatalf("link %q does not lead here", link.Link)
	}
	phone2 := p.newPhone("dev-ana")
	phone2.take(check(phone2, "POST", v1+"/session", v1+"/session", map[string]any{"code": code, "device": "dev-ana"}, 200))
	var list struct{ Sessions []struct{ ID string } }
	check(mia, "GET", v1+"/people/ana/sessions", v1+"/people/{id}/sessions", nil, 200).json(&list)
	if len(list.Sessions) != 1 {
		t.Fatalf("sessions %+v", list)
	}
	check(phone2, "GET", v1+"/people/ana/sessions", v1+"/people/{id}/sessions", nil, 200)
	check(mia, "GET", v1+"/phones", v1+"/phones", nil, 200)
	check(mia, "POST", v1+"/phones/dev-ana/name", v1+"/phones/{id}/name", map[string]any{"name": "Cabina 1"}, 204)
	check(mia, "POST", v1+"/phones/dev-ana/revoke", v1+"/phones/{id}/revoke", nil, 204)
	check(mia, "POST", v1+"/phones/dev-ana/restore", v1+"/phones/{id}/restore", nil, 204)
	check(mia, "GET", v1+"/events?max=50", v1+"/events", nil, 200)
	check(mia, "GET", v1+"/me", v1+"/me", nil, 200)
	check(phone2, "POST", v1+"/me/passphrase", v1+"/me/passphrase", map[string]any{"new": "ocho o más letras"}, 204)
	check(mia, "POST", v1+"/people/bea/sign-out", v1+"/people/{id}/sign-out", nil, 404).refused("people.unknown")
	check(mia, "DELETE", v1+"/people/ana/sessions/"+url.PathEscape(list.Sessions[0].ID), v1+"/people/{id}/sessions/{session}", nil, 204)
	phone2.do("GET", v1+"/export/shop.json", nil).refused("auth.ended")
	check(mia, "POST", v1+"/calc/reclaim.charge", v1+"/calc/{name}", []byte(`{"want_mg":20000000,"share_pm":300,"reclaim_mg":50000000,"virgin_mg":50000000}`), 200)
	for _, file := range []string{"office.json", "stock.csv", "runs.xlsx"} {
		check(mia, "GET", v1+"/export/"+file, v1+"/export/{file}", nil, 200)
	}
	visited["GET "+v1+"/live"] = true // has a test of its own: it never ends
	check(mia, "DELETE", v1+"/session", v1+"/session", nil, 204)
	mia.do("GET", v1+"/pull", nil).refused("auth.ended")
	mia.access = ""
	mia.do("POST", v1+"/session/refresh", nil).refused("auth.ended")
	check(mia, "POST", v1+"/session", v1+"/session", map[string]any{"name": "mia å", "passphrase": "polvo y más polvo", "device": "dev-mia"}, 200)
	for path, ops := range d.Paths {
		for method := range ops {
			if key := strings.ToUpper(method) + " " + path; !visited[key] {
				t.Errorf("%s was not visited", key)
			}
		}
	}
}

package api_test

import (
	"strings"
	"testing"
	"testing/fstest"
)

func TestThePhonesProgramIsServedPackedAndCachedRight(t *testing.T) {
	file := func(s string) *fstest.MapFile { return &fstest.MapFile{Data: []byte(s)} }
	p := start(t, options{shell: fstest.MapFS{
		"index.html": file("<page>"), "index.html.br": file("br page"), "index.html.gz": file("gz page"),
		"sw.js": file("sw"), "sw.js.gz": file("gz sw"), "manifest.webmanifest": file("{}"), ".gitkeep": file(""),
		"assets/main-0a1b2c3d4e.js": file("js"), "assets/main-0a1b2c3d4e.js.br": file("br js"), "assets/core-0a1b2c3d4e.wasm": file("wasm"),
	}})
	x := p.newPhone("x")
	const forever, ask = "public, max-age=31536000, immutable", "no-cache"
	tests := []struct {
		name, path, accept string
		status             int
		body, kind, packed string
		cache              string
	}{
		{"the page", "/", "", 200, "<page>", "text/html; charset=utf-8", "", ask},
		{"the page by its name", "/index.html", "br", 200, "br page", "text/html; charset=utf-8", "br", ask},
		{"brotli before gzip", "/", "gzip, deflate, br", 200, "br page", "text/html; charset=utf-8", "br", ask},
		{"gzip where brotli has weight 0", "/", "gzip;q=0.5, br;q=0", 200, "gz page", "text/html; charset=utf-8", "gzip", ask},
		{"a place inside the program", "/booth/1", "", 200, "<page>", "text/html; charset=utf-8", "", ask},
		{"the service worker is never cached unasked", "/sw.js", "br, gzip", 200, "gz sw", "text/javascript; charset=utf-8", "gzip", ask},
		{"a hashed name is cached for ever", "/assets/main-0a1b2c3d4e.js", "br", 200, "br js", "text/javascript; charset=utf-8", "br", forever},
		{"raw where there is nothing packed", "/assets/core-0a1b2c3d4e.wasm", "br, gzip", 200, "wasm", "application/wasm", "", forever},
		{"the manifest", "/manifest.webmanifest", "", 200, "{}", "application/manifest+json", "", ask},
	}
	for _, tt := range tests {
		a := x.do("GET", tt.path, nil, "Accept-Encoding", tt.accept).want(tt.status)
		if string(a.body) != tt.body || a.head.Get("Content-Type") != tt.kind || a.head.Get("Content-Encoding") != tt.packed ||
			a.head.Get("Cache-Control") != tt.cache || a.head.Get("Vary") != "Accept-Encoding" {
			t.Errorf("%s: %q %v", tt.name, a.body, a.head)
		}
		tag := a.head.Get("ETag")
		for _, known := range []string{tag, "W/" + tag, `"other", ` + tag, "*"} {
			b := x.do("GET", tt.path, nil, "If-None-Match", known)
			if b.status != 304 || len(b.body) != 0 || b.head.Get("ETag") != tag || b.head.Get("Cache-Control") != tt.cache {
				t.Errorf("%s with If-None-Match %s: %d %q %v", tt.name, known, b.status, b.body, b.head)
			}
		}
		x.do("GET", tt.path, nil, "If-None-Match", `"old"`).want(200)
		if h := x.do("HEAD", tt.path, nil).want(200); len(h.body) != 0 || h.head.Get("ETag") != tag {
			t.Errorf("%s: HEAD %v", tt.name, h.head)
		}
	}
	for _, path := range []string{"/assets/main-ffffffffff.js", "/app.js", "/.gitkeep", "/index.html.br", "/../house.go", "/%2e%2e/house.go", "/assets/..%2f..%2fgo.mod"} {
		x.do("GET", path, nil).refused("request.unknown")
	}
}

func TestEveryAnswerCarriesTheSafetyHeaders(t *testing.T) {
	p := start(t, options{shell: fstest.MapFS{"index.html": &fstest.MapFile{Data: []byte("x")}}})
	x := p.newPhone("x")
	for _, path := range []string{"/", "/api/v1/hello", "/api/v1/nothing", "/healthz", "/no.js"} {
		h := x.do("GET", path, nil).head
		for name, want := range map[string]string{
			"X-Hoppertally": p.house.ServerID(), "X-Content-Type-Options": "nosniff", "Referrer-Policy": "no-referrer",
			"Cross-Origin-Opener-Policy": "same-origin", "Permissions-Policy": "camera=(self), microphone=(), geolocation=()",
			"Content-Security-Policy": "default-src 'self'; script-src 'self' 'wasm-unsafe-eval'; style-src 'self'; img-src 'self' blob: data:; media-src 'self' blob:; connect-src 'self'; worker-src 'self'; manifest-src 'self'; object-src 'none'; base-uri 'none'; frame-ancestors 'none'; form-action 'self'",
		} {
			if h.Get(name) != want {
				t.Errorf("%s: %s is %q, want %q", path, name, h.Get(name), want)
			}
		}
		if len(h.Values("X-Hoppertally")) != 1 {
			t.Errorf("%s: headers stand twice: %v", path, h)
		}
	}
}

func TestABinaryWithoutThePhonesProgramSaysWhatToBuild(t *testing.T) {
	p := start(t, options{})
	if a := p.newPhone("x").do("GET", "/", nil).want(200); !strings.Contains(string(a.body), "make build") {
		t.Errorf("%s", a.body)
	}
}

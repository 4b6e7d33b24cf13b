package https

import (
	"bytes"
	"context"
	_ "embed"
	"errors"
	"fmt"
	"html/template"
	"log/slog"
	"net"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"

	"hoppertally/server/qr"
)

//go:embed trust.html
var trustHTML string

//go:embed trust.css
var trustCSS []byte

var trustPage = template.Must(template.New("trust").Parse(trustHTML))

// Limits of the plain-HTTP port: it answers a few small pages.
const (
	trustConns   = 256
	trustHeadMax = 8 << 10 // bytes
	trustTime    = 10 * time.Second
)

// Trust is the page on plain HTTP that leads a phone through trusting the shop's
// root. There cannot be HTTPS yet, so nothing on the page is proof of anything: it
// asks to compare what the phone itself shows of the root with the server's window.
type Trust struct {
	Root *Root
	// Hosts are what the certificate is for, the preferred one first; HTTPS is at Port.
	Hosts func() []string
	Port  string
	Shop  func() string // the shop's name, "" as long as it has none
}

// Origin is the address of a host under HTTPS, as browsers write it.
func Origin(host, port string) string {
	if strings.Contains(host, ":") {
		host = "[" + host + "]"
	}
	if port == "443" {
		return "https://" + host
	}
	return "https://" + host + ":" + port
}

// home is where to send the one who asks: to the same host under HTTPS if the
// certificate is for it, else to the preferred one. A Host header is anybody's word,
// so nobody is sent anywhere else.
func (t *Trust) home(r *http.Request) string {
	hosts := t.Hosts()
	host, _, ok := Authority(r.Host)
	if !ok || !slices.Contains(hosts, host) {
		host = hosts[0]
	}
	return Origin(host, t.Port)
}

// ServeHTTP answers what lies under /trust/ and sends everything else to HTTPS.
func (t *Trust) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	h := w.Header()
	h.Set("Content-Security-Policy", "default-src 'none'; style-src 'self'; img-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'")
	h.Set("X-Content-Type-Options", "nosniff")
	h.Set("Referrer-Policy", "no-referrer")
	h.Set("Cache-Control", "no-store")
	if r.Method != http.MethodGet && r.Method != http.MethodHead {
		http.Error(w, "This port only shows how to trust the shop's server. The shop itself is at "+t.home(r), http.StatusMethodNotAllowed)
		return
	}
	switch r.URL.Path {
	case "/", "/trust":
		http.Redirect(w, r, "/trust/", http.StatusFound)
	case "/trust/":
		t.page(w, r)
	case "/trust/trust.css":
		send(w, "text/css; charset=utf-8", trustCSS)
	case "/trust/qr.svg":
		t.code(w, r)
	case "/trust/root.crt":
		h.Set("Content-Disposition", `attachment; filename="hoppertally-root.crt"`)
		send(w, "application/x-x509-ca-cert", t.Root.Cert.Raw)
	case "/trust/root.mobileconfig":
		send(w, "application/x-apple-aspen-config", t.Root.profile())
	default:
		if strings.HasPrefix(r.URL.Path, "/trust/") {
			http.NotFound(w, r)
			return
		}
		http.Redirect(w, r, t.home(r)+(&url.URL{Path: r.URL.Path, RawQuery: r.URL.RawQuery}).RequestURI(), http.StatusTemporaryRedirect)
	}
}

func send(w http.ResponseWriter, kind string, b []byte) {
	w.Header().Set("Content-Type", kind)
	w.Write(b)
}

func (t *Trust) code(w http.ResponseWriter, r *http.Request) {
	svg, err := qr.SVG(t.home(r))
	if err != nil {
		http.Error(w, "no code for this address", http.StatusInternalServerError)
		return
	}
	send(w, "image/svg+xml", []byte(svg))
}

// trustView is what the page shows.
type trustView struct {
	W           words
	Lang        string
	Other       string // the other language
	Phone       string // iphone, android, or "" when it does not say
	Order       []string
	Home        string
	Hosts       []string
	Shop        string
	Name        string // of the root, as a phone lists it
	Fingerprint []string
	Ends        string
}

func (t *Trust) page(w http.ResponseWriter, r *http.Request) {
	lang := langOf(r)
	v := trustView{W: trustWords[lang], Lang: lang, Other: map[string]string{"en": "es", "es": "en"}[lang], Phone: phoneOf(r.UserAgent()), Home: t.home(r),
		Shop: t.Shop(), Name: t.Root.Cert.Subject.CommonName, Fingerprint: rows(t.Root.Fingerprint()), Ends: t.Root.Cert.NotAfter.Format(time.DateOnly)}
	if v.Order = []string{"iphone", "android"}; v.Phone == "android" {
		slices.Reverse(v.Order)
	}
	var page bytes.Buffer
	if err := trustPage.Execute(&page, v); err != nil {
		panic("https: the page of trust: " + err.Error()) // its template is ours
	}
	send(w, "text/html; charset=utf-8", page.Bytes())
}

// rows breaks a fingerprint into rows of eight pairs, which eyes can compare.
func rows(fingerprint string) []string {
	var out []string
	for row := range slices.Chunk(strings.Split(fingerprint, ":"), 8) {
		out = append(out, strings.Join(row, ":"))
	}
	return out
}

// langOf is the language asked for by ?lang=, else the browser's first that the page
// has, else English.
func langOf(r *http.Request) string {
	if lang := r.URL.Query().Get("lang"); trustWords[lang].Title != "" {
		return lang
	}
	for part := range strings.SplitSeq(r.Header.Get("Accept-Language"), ",") {
		tag, _, _ := strings.Cut(strings.TrimSpace(part), ";")
		tag, _, _ = strings.Cut(strings.ToLower(tag), "-")
		if trustWords[tag].Title != "" {
			return tag
		}
	}
	return "en"
}

// phoneOf guesses the phone from what its browser says. It only decides what stands
// open and first.
func phoneOf(agent string) string {
	switch {
	case strings.Contains(agent, "iPhone"), strings.Contains(agent, "iPad"), strings.Contains(agent, "iPod"):
		return "iphone"
	case strings.Contains(agent, "Android"):
		return "android"
	}
	return ""
}

// Serve answers on ln until ctx is done.
func (t *Trust) Serve(ctx context.Context, ln net.Listener, log *slog.Logger) error {
	srv := &http.Server{Handler: t, ReadTimeout: trustTime, WriteTimeout: trustTime, IdleTimeout: trustTime, MaxHeaderBytes: trustHeadMax,
		ErrorLog: slog.NewLogLogger(orSilent(log).Handler(), slog.LevelDebug)}
	stop := context.AfterFunc(ctx, func() { srv.Close() })
	defer stop()
	if err := srv.Serve(Listen(ln, nil, trustConns, log)); !errors.Is(err, http.ErrServerClosed) {
		return fmt.Errorf("listen on %s: %w", ln.Addr(), err)
	}
	return nil
}

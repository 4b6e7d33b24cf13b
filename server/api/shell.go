package api

import (
	"crypto/sha256"
	"encoding/base64"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"path"
	"regexp"
	"strings"

	"github.com/gofiber/fiber/v2"
)

// file is one file of the phone's program. Its bytes stay where they are: embedded
// ones are in memory already, and a copy of the two cores is 18 MB.
type file struct {
	from       fs.FS
	name       string
	size       map[string]int64 // bytes by the end of the name: "", ".gz", ".br"
	kind, etag string
	isForever  bool // its name holds its hash
}

// kinds are the media types of the phone's program; nothing else is served. They
// are ours and not the machine's, whose tables differ.
var kinds = map[string]string{
	".html": "text/html; charset=utf-8", ".js": "text/javascript; charset=utf-8", ".css": "text/css; charset=utf-8",
	".wasm": "application/wasm", ".webmanifest": "application/manifest+json", ".json": "application/json",
	".svg": "image/svg+xml", ".png": "image/png", ".ico": "image/x-icon", ".woff2": "font/woff2", ".txt": "text/plain; charset=utf-8",
}

// hashed is a name such as assets/main-0a1b2c3d4e.js.
var hashed = regexp.MustCompile(`^assets/.+-[0-9a-f]{8,}\.[a-z0-9]+$`)

// readShell lists the whole program. A program that was not built is an empty shell.
func readShell(fsys fs.FS) (map[string]*file, error) {
	shell := map[string]*file{}
	err := fs.WalkDir(fsys, ".", func(name string, d fs.DirEntry, err error) error {
		kind := kinds[path.Ext(name)]
		if err != nil || d.IsDir() || kind == "" {
			return err
		}
		f := &file{from: fsys, name: name, size: map[string]int64{}, kind: kind, isForever: hashed.MatchString(name)}
		for _, packed := range []string{"", ".gz", ".br"} {
			info, err := fs.Stat(fsys, name+packed)
			if errors.Is(err, fs.ErrNotExist) {
				continue
			}
			if err != nil {
				return err
			}
			f.size[packed] = info.Size()
		}
		f.etag, err = f.tag()
		shell["/"+name] = f
		return err
	})
	if err != nil {
		return nil, fmt.Errorf("read the phone's program: %w", err)
	}
	return shell, nil
}

// tag is the file's entity tag: the hash in its name, else that of its bytes.
func (f *file) tag() (string, error) {
	if f.isForever {
		return `"` + path.Base(f.name) + `"`, nil
	}
	b, err := fs.ReadFile(f.from, f.name)
	sum := sha256.Sum256(b)
	return `"` + base64.RawURLEncoding.EncodeToString(sum[:12]) + `"`, err
}

// page serves the phone's program. Addresses without an extension are places
// inside the program: they get its one page. There is no other fallback, so a
// missing script is a 404 and never a page that calls itself a script.
func (s *Server) page(c *fiber.Ctx) error {
	name := c.Path()
	if s.isRoute(name) {
		return problem("request.method", "")
	}
	if strings.HasPrefix(name, "/api/") {
		return problem("request.unknown", "")
	}
	if c.Method() != fiber.MethodGet && c.Method() != fiber.MethodHead {
		return problem("request.method", "")
	}
	if !straight(name) {
		return problem("request.unknown", "")
	}
	f := s.shell[name]
	if f == nil && path.Ext(name) == "" {
		if f = s.shell["/index.html"]; f == nil {
			return c.Type("txt").SendString("The phone's program is not in this binary: run `make build`.\n")
		}
	}
	if f == nil {
		return problem("request.unknown", "")
	}
	return f.send(c)
}

// straight tells whether an address is what it looks like: no dots that climb, no
// doubled or hidden slashes, no zero bytes. Whatever else is a trick or a mistake.
func straight(name string) bool {
	plain, err := url.PathUnescape(name)
	if err != nil || strings.ContainsAny(plain, "\\\x00") || strings.Count(plain, "/") != strings.Count(name, "/") {
		return false
	}
	return plain == path.Clean(plain)
}

// isRoute tells whether an address is one of the routes, for another method.
func (s *Server) isRoute(name string) bool {
	for _, r := range s.routes() {
		if fiber.RoutePatternMatch(name, r.path, s.app.Config()) {
			return true
		}
	}
	return false
}

func (f *file) send(c *fiber.Ctx) error {
	c.Set(fiber.HeaderETag, f.etag)
	c.Set(fiber.HeaderVary, fiber.HeaderAcceptEncoding)
	if f.isForever {
		c.Set(fiber.HeaderCacheControl, "public, max-age=31536000, immutable")
	} else {
		c.Set(fiber.HeaderCacheControl, "no-cache") // ask each time: the answer is mostly 304
	}
	if matchesTag(c.Get(fiber.HeaderIfNoneMatch), f.etag) {
		return c.SendStatus(fiber.StatusNotModified)
	}
	c.Set(fiber.HeaderContentType, f.kind)
	packed, encoding := f.pack(c.Get(fiber.HeaderAcceptEncoding))
	if encoding != "" {
		c.Set(fiber.HeaderContentEncoding, encoding)
	}
	body, err := f.from.Open(f.name + packed)
	if err != nil {
		return fmt.Errorf("open the phone's program: %w", err)
	}
	return c.SendStream(body, int(f.size[packed]))
}

// pack chooses the form to send: the end of its name, and its encoding.
func (f *file) pack(accept string) (packed, encoding string) {
	if _, isBr := f.size[".br"]; isBr && accepts(accept, "br") {
		return ".br", "br"
	}
	if _, isGz := f.size[".gz"]; isGz && accepts(accept, "gzip") {
		return ".gz", "gzip"
	}
	return "", ""
}

// matchesTag compares weakly (RFC 9110, section 13.1.2): a proxy that packs anew
// marks our tag as weak.
func matchesTag(header, etag string) bool {
	for part := range strings.SplitSeq(header, ",") {
		if part = strings.TrimSpace(part); part == "*" || strings.TrimPrefix(part, "W/") == etag {
			return true
		}
	}
	return false
}

// accepts tells whether an Accept-Encoding header names an encoding and does not
// give it weight 0.
func accepts(header, encoding string) bool {
	for part := range strings.SplitSeq(header, ",") {
		name, params, _ := strings.Cut(part, ";")
		if !strings.EqualFold(strings.TrimSpace(name), encoding) {
			continue
		}
		q, isWeight := strings.CutPrefix(strings.ReplaceAll(strings.ToLower(params), " ", ""), "q=")
		return !isWeight || strings.Trim(q, "0.") != ""
	}
	return false
}

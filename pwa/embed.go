// Package pwa carries the phone's program as files: the page, the worker, the
// service worker and the compiled core, each also as .gz and .br beside it.
package pwa

import (
	"embed"
	"io/fs"
)

//go:embed all:dist
var dist embed.FS

// Files is the built phone program, rooted at its index.html.
// Before `node pwa/build.mjs` has run it holds nothing to serve: then opening
// "index.html" fails with [fs.ErrNotExist] and the server says what to build.
func Files() fs.FS {
	root, err := fs.Sub(dist, "dist")
	if err != nil {
		panic("pwa: " + err.Error()) // dist is embedded above: only a broken build gets here
	}
	return root
}

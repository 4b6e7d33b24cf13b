// Package qr draws QR codes (ISO/IEC 18004) for a terminal and for a page.
package qr

import (
	"fmt"
	"strings"

	"github.com/boombuler/barcode"
	"github.com/boombuler/barcode/qr"
)

// TextMax is the longest text in bytes: the links of this program are far shorter,
// and a larger code is hard to read from a screen.
const TextMax = 500

// quiet is the light frame that a reader needs around the code, in modules
// (ISO/IEC 18004, "quiet zone": four).
const quiet = 4

// code is the modules of a QR code, its quiet zone included.
type code struct {
	barcode.Barcode
	size int // modules along a side
}

func encode(text string) (code, error) {
	if text == "" || len(text) > TextMax {
		return code{}, fmt.Errorf("draw a code: %d bytes of text, want 1 to %d", len(text), TextMax)
	}
	b, err := qr.Encode(text, qr.M, qr.Auto)
	if err != nil {
		return code{}, fmt.Errorf("draw a code: %w", err)
	}
	return code{b, b.Bounds().Dx() + 2*quiet}, nil
}

// isDark tells the colour of a module; outside of the code all is light.
func (c code) isDark(x, y int) bool {
	x, y = x-quiet, y-quiet
	if b := c.Bounds(); x < 0 || y < 0 || x >= b.Dx() || y >= b.Dy() {
		return false
	}
	r, _, _, _ := c.At(x, y).RGBA()
	return r == 0
}

// Terminal draws text in half blocks, two modules to a character, each line ending
// in "\n". Without colour a light module is drawn and a dark one left empty, as
// suits a dark window; with it the colours are set, whatever the window has.
func Terminal(text string, hasColour bool) (string, error) {
	c, err := encode(text)
	if err != nil {
		return "", err
	}
	var out strings.Builder
	for y := 0; y < c.size; y += 2 {
		if hasColour {
			out.WriteString("\x1b[97;40m") // bright white on black
		}
		for x := range c.size {
			out.WriteString([...]string{"█", "▄", "▀", " "}[2*b2i(c.isDark(x, y+1))+b2i(c.isDark(x, y))])
		}
		if hasColour {
			out.WriteString("\x1b[0m")
		}
		out.WriteByte('\n')
	}
	return out.String(), nil
}

func b2i(b bool) int {
	if b {
		return 1
	}
	return 0
}

// Rows gives the modules of text's code for somebody else to draw: a line for each
// row, '1' where it is dark, '0' where it is light, without the quiet zone.
func Rows(text string) ([]string, error) {
	c, err := encode(text)
	if err != nil {
		return nil, err
	}
	rows := make([]string, 0, c.size-2*quiet)
	for y := quiet; y < c.size-quiet; y++ {
		var row strings.Builder
		for x := quiet; x < c.size-quiet; x++ {
			row.WriteByte("01"[b2i(c.isDark(x, y))])
		}
		rows = append(rows, row.String())
	}
	return rows, nil
}

// SVG draws text as a picture that scales, black on white, a module to a unit. It
// holds neither style nor script.
func SVG(text string) (string, error) {
	c, err := encode(text)
	if err != nil {
		return "", err
	}
	var path strings.Builder
	for y := range c.size {
		for x := range c.size {
			if c.isDark(x, y) {
				fmt.Fprintf(&path, "M%d %dh1v1h-1z", x, y)
			}
		}
	}
	return fmt.Sprintf(`<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %[1]d %[1]d" shape-rendering="crispEdges">`+
		`<path fill="#fff" d="M0 0h%[1]dv%[1]dH0z"/><path d="%[2]s"/></svg>`, c.size, path.String()), nil
}

package qr

import (
	"encoding/xml"
	"fmt"
	"io"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"unicode/utf8"
)

const link = "https://192.168.1.20:8377/#setup=K7QM-2XRD"

// modules reads a drawing for a terminal back into dark and light.
func modules(t *testing.T, drawing string) [][]bool {
	t.Helper()
	var rows [][]bool
	for line := range strings.Lines(drawing) {
		var upper, lower []bool
		for _, r := range strings.TrimSuffix(line, "\n") {
			i := strings.IndexRune("█▄▀ ", r)
			if i < 0 {
				t.Fatalf("a strange character %q", r)
			}
			i = utf8.RuneCountInString("█▄▀ "[:i])
			upper, lower = append(upper, i&1 == 1), append(lower, i&2 == 2)
		}
		rows = append(rows, upper, lower)
	}
	return rows
}

func TestATerminalShowsTheSameModulesAsAPage(t *testing.T) {
	text, err := Terminal(link, false)
	if err != nil {
		t.Fatal(err)
	}
	rows := modules(t, text)
	svg, err := SVG(link)
	if err != nil {
		t.Fatal(err)
	}
	dark := map[string]bool{}
	for _, m := range regexp.MustCompile(`M(\d+) (\d+)h1`).FindAllStringSubmatch(svg, -1) {
		dark[m[1]+" "+m[2]] = true
	}
	size, _ := strconv.Atoi(regexp.MustCompile(`viewBox="0 0 (\d+)`).FindStringSubmatch(svg)[1])
	if len(rows[0]) != size || len(rows) != size+size%2 || len(dark) < size {
		t.Fatalf("terminal %d by %d, page %d with %d dark", len(rows[0]), len(rows), size, len(dark))
	}
	for y := range size {
		for x := range size {
			if at := fmt.Sprintf("%d %d", x, y); rows[y][x] != dark[at] {
				t.Errorf("module %s differs", at)
			}
		}
	}
}

// ISO/IEC 18004: finder patterns of 7 by 7 in three corners, four light modules around.
func TestTheFrameIsLightAndTheCornersAreFinders(t *testing.T) {
	c, err := encode(link)
	if err != nil {
		t.Fatal(err)
	}
	for i := range c.size {
		for edge := range quiet {
			if c.isDark(i, edge) || c.isDark(edge, i) || c.isDark(i, c.size-1-edge) || c.isDark(c.size-1-edge, i) {
				t.Fatalf("the quiet zone is dark at %d, %d", i, edge)
			}
		}
	}
	far := c.size - quiet - 7
	for _, at := range [][2]int{{quiet, quiet}, {far, quiet}, {quiet, far}} {
		for y := range 7 {
			for x := range 7 {
				ring := max(abs(x-3), abs(y-3))
				if got, want := c.isDark(at[0]+x, at[1]+y), ring != 2; got != want {
					t.Errorf("finder at %v, module %d %d: dark %v", at, x, y, got)
				}
			}
		}
	}
}

func abs(n int) int { return max(n, -n) }

func TestThePictureIsWellFormedAndHoldsNoStyleOrScript(t *testing.T) {
	svg, err := SVG(link)
	if err != nil {
		t.Fatal(err)
	}
	for d := xml.NewDecoder(strings.NewReader(svg)); ; {
		if _, err := d.Token(); err == io.EOF {
			break
		} else if err != nil {
			t.Fatal(err)
		}
	}
	if strings.Contains(svg, "style=") || strings.Contains(svg, "<script") {
		t.Error("style or script inside")
	}
}

func TestColouredLinesSetAndEndTheirColours(t *testing.T) {
	text, err := Terminal(link, true)
	if err != nil {
		t.Fatal(err)
	}
	for line := range strings.Lines(text) {
		if !strings.HasPrefix(line, "\x1b[97;40m") || !strings.HasSuffix(line, "\x1b[0m\n") {
			t.Errorf("%q", line)
		}
	}
}

func TestTextsAtTheLimitAndBeyond(t *testing.T) {
	for n, ok := range map[int]bool{0: false, 1: true, TextMax: true, TextMax + 1: false} {
		if _, err := Terminal(strings.Repeat("x", n), false); (err == nil) != ok {
			t.Errorf("%d bytes: %v", n, err)
		}
		if _, err := SVG(strings.Repeat("x", n)); (err == nil) != ok {
			t.Errorf("%d bytes: %v", n, err)
		}
	}
}

func TestRowsAreTheSameModulesAsInTheTerminal(t *testing.T) {
	rows, err := Rows(link)
	if err != nil {
		t.Fatal(err)
	}
	c, err := encode(link)
	if err != nil {
		t.Fatal(err)
	}
	if len(rows) != c.size-2*quiet {
		t.Fatalf("%d rows", len(rows))
	}
	for y, row := range rows {
		if len(row) != len(rows) {
			t.Fatalf("row %d has %d modules", y, len(row))
		}
		for x := range row {
			if (row[x] == '1') != c.isDark(x+quiet, y+quiet) {
				t.Errorf("module %d %d is %c", x, y, row[x])
			}
		}
	}
	if _, err := Rows(""); err == nil {
		t.Error("a code of nothing")
	}
}

package api

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"
)

// csv is the table after RFC 4180, in UTF-8, with a point before decimals. Its lines end
// with a mere line feed: with both marks encoding/csv would drop a return inside a text.
func (t *sheet) csv() ([]byte, error) {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	w.Write(t.head) // errors wait for Error
	fields := make([]string, len(t.head))
	for _, row := range t.rows {
		for i, c := range row {
			fields[i] = c.guarded()
		}
		w.Write(fields)
	}
	w.Flush()
	if err := w.Error(); err != nil {
		return nil, fmt.Errorf("export as csv: %w", err)
	}
	return b.Bytes(), nil
}

// guarded keeps a spreadsheet from taking words for a formula (after the OWASP page
// "CSV Injection"): where a text begins like one, and where a program that parts
// fields at semicolons or tabs would find one in its middle, it gets an apostrophe in
// front. Numbers are ours and stay as they are.
func (c cell) guarded() string {
	if c.isNumber {
		return c.text
	}
	var out strings.Builder
	done, begin, isBegin := 0, 0, true // copied up to; where a field may begin; nothing seen of it yet
	guard := func() {
		out.WriteString(c.text[done:begin] + "'")
		done, isBegin = begin, false
	}
	for i, r := range c.text {
		switch {
		case isBegin && begin == 0 && strings.ContainsRune("\t\r\n", r), isBegin && isSign(r):
			guard()
		case !isUnseen(r):
			isBegin = false
		}
		if parts(r) {
			begin, isBegin = i+utf8.RuneLen(r), true
		}
	}
	return out.String() + c.text[done:]
}

// parts tells whether some program ends a field at a character.
func parts(r rune) bool { return strings.ContainsRune(";\t\r\n\v\f\u0085\u2028\u2029", r) }

// isSign tells whether a formula may begin with a character, also in the wide and small
// forms of East Asian keyboards (UAX #15, compatibility).
func isSign(r rune) bool {
	plain, _ := utf8.DecodeRuneInString(norm.NFKC.String(string(r)))
	return strings.ContainsRune("=+-@|%\u2212", plain)
}

// isUnseen tells whether a spreadsheet may throw a character away in front of a formula:
// spaces, control and format characters, marks, what Unicode calls default ignorable
// (zero-width ones and fillers), the empty cell of Braille, and quotes.
func isUnseen(r rune) bool {
	return r == '"' || r == '\'' || r == '\u2800' ||
		unicode.In(r, unicode.Z, unicode.Cc, unicode.Cf, unicode.M, unicode.Other_Default_Ignorable_Code_Point)
}

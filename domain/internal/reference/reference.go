// Package reference reads the tables of published values in testdata/reference for
// the tests of domain. SOURCES.md beside them says where each comes from.
package reference

import (
	"bytes"
	"encoding/csv"
	"os"
	"strconv"
	"testing"
)

// folder holds the tables, as seen from the packages of domain, where their tests run.
const folder = "../../testdata/reference/"

// Table reads a file as rows by column name.
func Table(t testing.TB, file string) []map[string]string {
	t.Helper()
	b, err := os.ReadFile(folder + file)
	if err != nil {
		t.Fatal(err)
	}
	all, err := csv.NewReader(bytes.NewReader(b)).ReadAll()
	if err != nil {
		t.Fatalf("%s: %v", file, err)
	}
	var list []map[string]string
	for _, line := range all[1:] {
		row := make(map[string]string, len(line))
		for i, name := range all[0] {
			row[name] = line[i]
		}
		list = append(list, row)
	}
	return list
}

// Rows is Table for a file that must hold that many rows, so that none is
// dropped unnoticed.
func Rows(t testing.TB, file string, rows int) []map[string]string {
	t.Helper()
	list := Table(t, file)
	if len(list) != rows {
		t.Fatalf("%s holds %d rows; want %d", file, len(list), rows)
	}
	return list
}

// Number is a text as a number.
func Number(t testing.TB, text string) float64 {
	t.Helper()
	x, err := strconv.ParseFloat(text, 64)
	if err != nil {
		t.Fatal(err)
	}
	return x
}

// Column is a column of a row as a number.
func Column(t testing.TB, row map[string]string, name string) float64 {
	t.Helper()
	x, err := strconv.ParseFloat(row[name], 64)
	if err != nil {
		t.Fatalf("%s of %v: %v", name, row, err)
	}
	return x
}

// Printed tells whether x is what a table with that text shows: within half a unit
// of its last figure (and the rounding of float64).
func Printed(x float64, text string) bool {
	want, err := strconv.ParseFloat(text, 64)
	if err != nil {
		return false
	}
	half := 0.5
	for i := len(text) - 1; i >= 0 && text[i] != '.'; i-- {
		if i == 0 {
			return x-want <= 0.5+1e-9 && want-x <= 0.5+1e-9 // no decimal point
		}
		half /= 10
	}
	return x-want <= half*(1+1e-6) && want-x <= half*(1+1e-6)
}

package calc_test

import (
	"encoding/csv"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"hoppertally/domain/calc"
	"hoppertally/domain/form"
)

const referenceDir = "../../testdata/reference"

// How many rows each table of published values holds. A row that is dropped, a
// table that is added or renamed, fails here before anybody misses it.
var referenceRows = map[string]int{
	"booth-concentration.csv":             4,
	"capability-and-control-examples.csv": 5,
	"capability-data.csv":                 125,
	"ciede2000-extra.csv":                 6,
	"ciede2000.csv":                       34,
	"colour-change-durations.csv":         11,
	"control-chart-constants.csv":         19,
	"coverage-metric.csv":                 56,
	"coverage-worked-examples.csv":        7,
	"coverage.csv":                        132,
	"cure-arrhenius.csv":                  22,
	"cure-schedules.csv":                  10,
	"data-reconciliation.csv":             2,
	"film-thickness-area-rule.csv":        6,
	"film-thickness-specs.csv":            10,
	"gs1-application-identifiers.csv":     46,
	"gs1-check-digits.csv":                14,
	"gs1-dates.csv":                       28,
	"gs1-examples.csv":                    31,
	"gs1-fixed-length-prefixes.csv":       22,
	"inventory-examples.csv":              5,
	"mixed-feed.csv":                      8,
	"nist-mavro.csv":                      50,
	"nist-strd-data.csv":                  518,
	"nist-strd-univariate.csv":            9,
	"qualicoat-style-thickness.csv":       3,
	"storage-limits.csv":                  8,
	"utilisation-by-pass.csv":             22,
	"utilisation-steady-state.csv":        47,
}

// Instances of the travelling salesman problem, whose rows their own header counts.
var referenceInstances = []string{"br17.atsp", "ftv33.atsp", "ftv35.atsp", "ftv44.atsp", "kro124p.atsp", "p43.atsp"}

func TestNoReferenceRowIsDropped(t *testing.T) {
	found := map[string]int{}
	for _, path := range listed(t, "*.csv") {
		f, err := os.Open(path)
		if err != nil {
			t.Fatal(err)
		}
		rows, err := csv.NewReader(f).ReadAll()
		f.Close()
		if err != nil {
			t.Fatalf("%s: %v", path, err)
		}
		found[filepath.Base(path)] = len(rows) - 1
	}
	if !maps.Equal(found, referenceRows) {
		for _, name := range slices.Sorted(maps.Keys(found)) {
			if want, known := referenceRows[name]; !known || want != found[name] {
				t.Errorf("%s holds %d rows; want %d", name, found[name], want)
			}
		}
		for name := range referenceRows {
			if _, there := found[name]; !there {
				t.Errorf("%s is gone", name)
			}
		}
	}
	var instances []string
	for _, path := range listed(t, "atsp/*.atsp") {
		instances = append(instances, filepath.Base(path))
	}
	if !slices.Equal(instances, referenceInstances) {
		t.Errorf("instances %v; want %v", instances, referenceInstances)
	}
}

// Every table has its source written down and stands in a test that reads it.
func TestEveryReferenceHasASourceAndATest(t *testing.T) {
	sources, err := os.ReadFile(referenceDir + "/SOURCES.md")
	if err != nil {
		t.Fatal(err)
	}
	var tests strings.Builder
	err = filepath.WalkDir("..", func(path string, d fs.DirEntry, err error) error {
		if err != nil || !strings.HasSuffix(path, "_test.go") || filepath.Base(path) == "reference_test.go" && filepath.Base(filepath.Dir(path)) == "calc" {
			return err
		}
		b, err := os.ReadFile(path)
		tests.Write(b)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	for name := range referenceRows {
		if !strings.Contains(string(sources), name) {
			t.Errorf("SOURCES.md does not say where %s comes from", name)
		}
		if !strings.Contains(tests.String(), `reference.Each(t, "`+name+`"`) && !strings.Contains(tests.String(), `reference.Whole(t, "`+name+`"`) {
			t.Errorf("no test of the domain demands that a change of %s is noticed", name)
		}
	}
	for _, name := range referenceInstances {
		if !strings.Contains(tests.String(), `"`+strings.TrimSuffix(name, ".atsp")) {
			t.Errorf("no test of the domain reads %s", name)
		}
	}
}

func listed(t *testing.T, pattern string) []string {
	t.Helper()
	list, err := filepath.Glob(filepath.Join(referenceDir, pattern))
	if err != nil || len(list) == 0 {
		t.Fatalf("no file matches %s (%v)", pattern, err)
	}
	return list
}

// Where a powder's own limit is not given, the strictest published one holds.
func TestTheStoreLimitThatIsAssumedIsTheStrictestPublished(t *testing.T) {
	c, err := calc.Find("stock.shelf")
	if err != nil {
		t.Fatal(err)
	}
	if in := string(form.Encode(c.In())); !strings.Contains(in, `"store_max_dc":250`) {
		t.Errorf("an empty form of stock.shelf is %s; want 25 °C (storage-limits.csv: below 25, jotun.com, found)", in)
	}
}

package stock

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"hoppertally/domain/internal/reference"
	"hoppertally/domain/measure"
)

// Everything that the limits of the table say, by row: low; high; the rest. What is said
// of humidity, cold, air and habits is no rule of this package and is only kept true here.
var publishedLimits = []string{
	"5; 25 35 0; 50 65 24", "; 25; 50 65", "0; 30; 40 55 60 2", "; 27 80; 40 60 1", "; 80; 50", "; 3; 200 300", "; 12; ", "; 27; 12 25 6",
}

// The limits that makers and coaters publish, row by row: a store kept at the
// highest temperature of a row costs nothing of the shelf life there, a store 10 °C
// warmer a day a day.
func TestPublishedStorageLimits(t *testing.T) {
	rows := reference.Rows(t, "storage-limits.csv", len(publishedLimits))
	reference.Each(t, "storage-limits.csv", len(publishedLimits), nil, func(t testing.TB, row reference.Row) {
		says := row["quantity"] + " " + row["high"] + " " + row["other"] + " (" + row["source"] + row["source_kind"] + ", " + row["mark"] + ")"
		nth := slices.IndexFunc(rows, func(r reference.Row) bool { return r["source_kind"] == row["source_kind"] })
		words := func(column string) string { return strings.Join(reference.Figures(row[column]), " ") }
		if got := words("low") + "; " + words("high") + "; " + words("other"); got != publishedLimits[nth] {
			t.Errorf("%s: the figures are %s; want %s", says, got, publishedLimits[nth])
		}
		switch row["quantity"] {
		case "temp_C", "temp_F":
			keepsAt(t, says, warmestOf(t, row["quantity"], row["high"]))
		case "age_months":
			if got, err := UseBy("2026-01-15", int64(reference.Number(t, row["high"]))); err != nil || got != "2027-01-15" {
				t.Errorf("%s: good through %s, %v; want 2027-01-15", says, got, err)
			}
		case "dew_point_C":
		default:
			t.Errorf("%s is not asserted", says)
		}
		if strings.Contains(row["other"], "clumps above") && !strings.Contains(row["other"], fmt.Sprintf("(clumps above %d)", RHMaxPM/10)) {
			t.Errorf("%s: powder is taken to clump above %d ‰", says, RHMaxPM)
		}
	})
	var warmest []measure.Temp
	for _, row := range rows {
		if strings.HasPrefix(row["quantity"], "temp_") {
			warmest = append(warmest, warmestOf(t, row["quantity"], row["high"]))
		}
	}
	if strictest := slices.Min(warmest); strictest != StoreMax {
		t.Errorf("the strictest published limit is %d tenths of °C; assumed %d", strictest, StoreMax)
	}
	if len(warmest) != 6 {
		t.Errorf("%d limits of temperature; want 6", len(warmest))
	}
}

// warmestOf reads "25 (35 absolute maximum; …)", "below 25", "27 (80 F)", "below 80".
func warmestOf(t testing.TB, quantity, high string) measure.Temp {
	t.Helper()
	figure, _, _ := strings.Cut(strings.TrimPrefix(high, "below "), " ")
	limit, err := measure.Style{Units: map[string]string{"temp_C": "metric", "temp_F": "us"}[quantity]}.ParseTemp(figure)
	if err != nil {
		t.Fatalf("%s %q: %v", quantity, high, err)
	}
	if limit < 250 || limit > 300 {
		t.Errorf("%s %q reads as %d tenths of °C; the published limits lie from 25 to 30 °C", quantity, high, limit)
	}
	return limit
}

func keepsAt(t testing.TB, says string, limit measure.Temp) {
	t.Helper()
	days := func(warmer measure.Temp) []RoomDay {
		return []RoomDay{{"2026-06-01", limit + warmer}, {"2026-06-02", limit + warmer}}
	}
	for warmer, lost := range map[measure.Temp]int64{0: 0, 100: 2} { // by hand: 2·(2^1−1)
		s, err := ShortenUseBy("2026-12-31", "2026-01-10", limit, days(warmer))
		if err != nil || s.LostDays != lost || s.Estimated != (lost > 0) {
			t.Errorf("%s: two days %d tenths of °C above: %+v, %v; want %d days lost", says, warmer, s, err, lost)
		}
	}
}

package stock

import (
	"errors"
	"testing"

	"hoppertally/domain/measure"

	"pgregory.net/rapid"
)

func TestUseBy(t *testing.T) {
	tests := []struct {
		name, made string
		months     int64
		want       string
		source     string
	}{
		{"the same day of the month", "2026-01-15", 12, "2027-01-15", "calendar"},
		{"over the turn of the year", "2026-11-25", 6, "2027-05-25", "calendar"},
		{"the 31st into a month of 30 days is its last day", "2026-08-31", 1, "2026-09-30", "our rule"},
		{"the 31st into February is its last day", "2026-08-31", 6, "2027-02-28", "our rule"},
		{"into a leap February", "2027-08-30", 6, "2028-02-29", "our rule"},
		{"29 February a year later", "2028-02-29", 12, "2029-02-28", "our rule"},
		{"the end of a short month stays on its day", "2026-02-28", 1, "2026-03-28", "our rule"},
		{"the longest shelf life", "2026-01-01", MonthsMax, "2046-01-01", "calendar"},
	}
	for _, tt := range tests {
		if got, err := UseBy(tt.made, tt.months); got != tt.want || err != nil {
			t.Errorf("%s: UseBy(%s, %d) = %s, %v; want %s (%s)", tt.name, tt.made, tt.months, got, err, tt.want, tt.source)
		}
	}
}

func TestShelfErrorsNameTheField(t *testing.T) {
	_, noDay := UseBy("2026-02-30", 12)
	_, noMonths := UseBy("2026-01-01", 0)
	_, manyMonths := UseBy("2026-01-01", MonthsMax+1)
	shorten := func(useBy, received string, limit measure.Temp, r RoomDay) error {
		_, err := ShortenUseBy(useBy, received, limit, []RoomDay{r})
		return err
	}
	good := RoomDay{"2026-06-01", 300}
	tests := []struct {
		field, got string
		err        error
	}{
		{"made", "2026-02-30", noDay},
		{"shelf_months", "0", noMonths},
		{"shelf_months", "241", manyMonths},
		{"use_by", "soon", shorten("soon", "2026-01-01", 250, good)},
		{"received", "1 May", shorten("2026-12-01", "1 May", 250, good)},
		{"store_max_dc", "1001", shorten("2026-12-01", "2026-01-01", 1001, good)},
		{"room.day", "", shorten("2026-12-01", "2026-01-01", 250, RoomDay{"", 300})},
		{"room.temp_dc", "1001", shorten("2026-12-01", "2026-01-01", 250, RoomDay{"2026-06-01", 1001})},
		{"room.temp_dc", "-501", shorten("2026-12-01", "2026-01-01", 250, RoomDay{"2026-06-01", -501})},
	}
	for _, tt := range tests {
		var e *measure.Fault
		if !errors.As(tt.err, &e) || e.What != tt.field || e.Got != tt.got || e.Want == "" {
			t.Errorf("%v, want an error on %s = %q", tt.err, tt.field, tt.got)
		}
	}
}

func TestShortenUseBy(t *testing.T) {
	const received, useBy = "2026-01-10", "2026-12-31"
	warm := func(t measure.Temp, days ...string) (r []RoomDay) {
		for _, d := range days {
			r = append(r, RoomDay{d, t})
		}
		return r
	}
	tests := []struct {
		name   string
		room   []RoomDay
		want   Shortened
		source string
	}{
		{"no reading, nothing lost", nil, Shortened{UseBy: useBy}, "our rule"},
		{"at the limit nothing is lost", warm(250, "2026-06-01"), Shortened{UseBy: useBy}, "our rule"},
		{"10 °C above costs a day a day", warm(350, "2026-06-01", "2026-06-02"),
			Shortened{"2026-12-29", 2, 2, 350, true}, "by hand: 2·(2^1−1) = 2"},
		{"20 °C above costs three days a day", warm(450, "2026-06-01"),
			Shortened{"2026-12-28", 3, 1, 450, true}, "by hand: 2^2−1 = 3"},
		{"5 °C above: fractions add up before they are rounded up", warm(300, "2026-06-01", "2026-06-02", "2026-06-03"),
			Shortened{"2026-12-29", 2, 3, 300, true}, "by hand: 3·0.414 = 1.242, up to 2"},
		{"the highest reading of a day counts once", append(warm(300, "2026-06-01", "2026-06-01"), warm(350, "2026-06-01")...),
			Shortened{"2026-12-30", 1, 1, 350, true}, "our rule"},
		{"days before it came in and after its end do not count", warm(450, "2026-01-09", "2027-01-01"),
			Shortened{UseBy: useBy}, "our rule"},
	}
	for _, tt := range tests {
		if got, err := ShortenUseBy(useBy, received, 250, tt.room); got != tt.want || err != nil {
			t.Errorf("%s: %+v, %v; want %+v (%s)", tt.name, got, err, tt.want, tt.source)
		}
	}
}

func TestMoreWarmthNeverLengthensAShelfLife(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		room := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) RoomDay {
			return RoomDay{rapid.SampledFrom([]string{"2026-05-01", "2026-05-02", "2026-05-03", "2026-05-04"}).Draw(t, "day"),
				measure.Temp(rapid.Int64Range(0, 600).Draw(t, "temp"))}
		}), 1, 8).Draw(t, "room")
		less, err1 := ShortenUseBy("2026-12-31", "2026-01-01", 250, room[1:])
		more, err2 := ShortenUseBy("2026-12-31", "2026-01-01", 250, room)
		if err1 != nil || err2 != nil {
			t.Fatal(err1, err2)
		}
		if more.UseBy > less.UseBy || more.UseBy > "2026-12-31" {
			t.Fatalf("one more reading moved %s to %s", less.UseBy, more.UseBy)
		}
	})
}

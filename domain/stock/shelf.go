package stock

import (
	"math"
	"time"

	"hoppertally/domain/measure"
)

// MonthsMax is the longest shelf life that is accepted: twenty years.
const MonthsMax = 240

const dayWant = "a day as YYYY-MM-DD"

// UseBy is the last day a powder may be used: the same day of the month, months
// after it was made. Where that month is shorter it is its last day: made on
// 31 August with 6 months is good through 28 (or 29) February, never 3 March.
//
// Our rule for the month's end; the other rules are the calendar's. The errors
// are *measure.Fault on made or shelf_months (1 to MonthsMax).
func UseBy(made string, months int64) (string, error) {
	d, err := time.Parse(time.DateOnly, made)
	if err != nil {
		return "", measure.Refuse("made", made, dayWant)
	}
	if months < 1 || months > MonthsMax {
		return "", measure.Refuse("shelf_months", months, "an integer from 1 to 240 months")
	}
	first := time.Date(d.Year(), d.Month()+time.Month(months), 1, 0, 0, 0, 0, time.UTC)
	last := first.AddDate(0, 1, -1).Day()
	return first.AddDate(0, 0, min(d.Day(), last)-1).Format(time.DateOnly), nil
}

// What holds where a powder's maker gives no limit.
const (
	// StoreMax is the strictest published limit of the store's temperature: below
	// 25 °C, a Nordic powder maker, "Powder Coatings Storage Conditions" (found; one of
	// six from 25 to 30 °C, testdata/reference/storage-limits.csv).
	StoreMax measure.Temp = 250
	// RHMaxPM is the relative humidity above which powder clumps: 60 %, a powder maker,
	// "Storing powder coatings" (found, in the same table; others advise 50 to 65 %).
	RHMaxPM = 600
)

// RoomDay is the highest room temperature read on one day.
type RoomDay struct {
	Day  string // YYYY-MM-DD
	Temp measure.Temp
}

// Shortened is a use-by day after warm storage.
type Shortened struct {
	UseBy     string       `json:"use_by"`
	LostDays  int64        `json:"lost_days"`   // how much earlier than without the heat
	WarmDays  int64        `json:"warm_days"`   // days that were read above the limit
	MaxTemp   measure.Temp `json:"max_temp_dc"` // highest of them, tenths °C; 0 without warm days
	Estimated bool         `json:"estimated"`   // true when anything was lost: see ShortenUseBy
}

// DoublingDC is the rise in temperature, in tenths of a degree, that doubles the
// speed of ageing in [ShortenUseBy]: 10 °C.
// Common practice, no source: the rule of thumb for reaction speeds.
const DoublingDC = 100

// ShortenUseBy sets a use-by day earlier for the days on which the store was
// warmer than the powder's limit. A day at t degrees above the limit uses up
// 2^(t/10 °C) days of shelf life instead of one; what that is more than one is
// lost. Each day's loss is rounded to 0.001 day, the sum up to whole days.
//
// Only days with a reading, from the day it came in through the use-by day,
// count: between readings nothing is guessed. Of several readings of a day the
// highest counts. The outcome is an estimate to be marked as such; what a warm
// powder is still good for is for its maker to decide.
//
// Our rule on the rule of thumb of DoublingDC. The errors are *measure.Fault on
// use_by, received, room.day or room.temp_dc (-500 to 1000 tenths °C).
func ShortenUseBy(useBy, received string, limit measure.Temp, room []RoomDay) (Shortened, error) {
	end, err := time.Parse(time.DateOnly, useBy)
	if err != nil {
		return Shortened{}, measure.Refuse("use_by", useBy, dayWant)
	}
	if !isDay(received) {
		return Shortened{}, measure.Refuse("received", received, dayWant)
	}
	if limit < tempMin || limit > tempMax {
		return Shortened{}, measure.Refuse("store_max_dc", limit, tempWant)
	}
	highest, err := warmDays(received, useBy, limit, room)
	if err != nil {
		return Shortened{}, err
	}
	s := Shortened{WarmDays: int64(len(highest))}
	var lost int64 // thousandths of a day; a sum of integers has no order
	for _, t := range highest {
		lost += int64(math.Round(1000 * (math.Exp2(float64(t-limit)/DoublingDC) - 1)))
		s.MaxTemp = max(s.MaxTemp, t)
	}
	s.LostDays = (lost + 999) / 1000
	s.Estimated = s.LostDays > 0
	s.UseBy = end.AddDate(0, 0, -int(s.LostDays)).Format(time.DateOnly)
	return s, nil
}

const (
	tempMin  measure.Temp = -500
	tempMax  measure.Temp = 1000
	tempWant              = "an integer from -500 to 1000 tenths of °C"
)

// warmDays is the highest temperature of each day above the limit.
func warmDays(from, to string, limit measure.Temp, room []RoomDay) (map[string]measure.Temp, error) {
	highest := map[string]measure.Temp{}
	for _, r := range room {
		if !isDay(r.Day) {
			return nil, measure.Refuse("room.day", r.Day, dayWant)
		}
		if r.Temp < tempMin || r.Temp > tempMax {
			return nil, measure.Refuse("room.temp_dc", r.Temp, tempWant)
		}
		if r.Temp <= limit || r.Day < from || r.Day > to {
			continue
		}
		if t, seen := highest[r.Day]; !seen || r.Temp > t {
			highest[r.Day] = r.Temp
		}
	}
	return highest, nil
}

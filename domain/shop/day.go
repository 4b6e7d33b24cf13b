package shop

import "time"

// The first and the last moment whose day can be written as YYYY-MM-DD.
const (
	dayFirstMS = -62_167_219_200_000 // 0000-01-01
	dayLastMS  = 253_402_300_799_999 // 9999-12-31
)

// UTCDay is the day of a moment, the nearest one that can be written.
func UTCDay(ms int64) string {
	return time.UnixMilli(min(max(ms, dayFirstMS), dayLastMS)).UTC().Format(time.DateOnly)
}

// DayAt is the day of a moment where clocks are some minutes ahead of UTC.
func DayAt(ms int64, offsetMin int) string {
	return UTCDay(min(max(ms, dayFirstMS), dayLastMS) + int64(offsetMin)*60_000)
}

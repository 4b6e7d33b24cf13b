package stock

import (
	"fmt"
	"time"
)

// CheckDigit is the digit that makes a GTIN, SSCC, GSIN or GLN complete: from
// the right the digits count 3, 1, 3, 1, ...; the check digit lifts the sum to a
// multiple of ten. It panics if digits holds anything but digits.
//
// Source: GS1 General Specifications, standard check digit calculation.
func CheckDigit(digits string) byte {
	sum := 0
	for i := range len(digits) {
		d := digits[len(digits)-1-i]
		if d < '0' || d > '9' {
			panic(fmt.Sprintf("stock: check digit of %q", digits))
		}
		if i%2 == 0 {
			sum += 3 * int(d-'0')
		} else {
			sum += int(d - '0')
		}
	}
	return byte('0' + (10-sum%10)%10)
}

// LabelDate reads YYMMDD as a day YYYY-MM-DD. Day 00 is the last day of the
// month. The century is the one that puts the year within 50 years ahead of, and
// 49 behind, the given current year. ok is false when there is no such day.
//
// Source: GS1 General Specifications, "Determination of century in dates", and
// the rule for an unspecified day.
func LabelDate(yymmdd string, currentYear int) (day string, ok bool) {
	if len(yymmdd) != 6 || !allDigits(yymmdd) {
		return "", false
	}
	yy, month, d := two(yymmdd[0:]), time.Month(two(yymmdd[2:])), two(yymmdd[4:])
	year := currentYear - currentYear%100 + yy
	switch ahead := yy - currentYear%100; {
	case ahead >= 51:
		year -= 100
	case ahead <= -50:
		year += 100
	}
	if month < 1 || month > 12 {
		return "", false
	}
	last := time.Date(year, month+1, 0, 0, 0, 0, 0, time.UTC).Day()
	if d == 0 {
		d = last
	}
	if d > last {
		return "", false
	}
	return fmt.Sprintf("%04d-%02d-%02d", year, month, d), true
}

// clockTime tells whether s is HH, HHMM or HHMMSS.
func clockTime(s string) bool {
	switch len(s) {
	case 2, 4, 6:
	default:
		return false
	}
	for i := 0; i < len(s); i += 2 {
		if n := two(s[i:]); n > 59 || i == 0 && n > 23 {
			return false
		}
	}
	return true
}

func two(s string) int { return int(s[0]-'0')*10 + int(s[1]-'0') }

func allDigits(s string) bool {
	for i := range len(s) {
		if s[i] < '0' || s[i] > '9' {
			return false
		}
	}
	return true
}

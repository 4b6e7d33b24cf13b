package entry

// ReadTime reads a time of RFC 3339, section 5.6, with T and Z in capitals:
// YYYY-MM-DDThh:mm:ss[.digits](Z|±hh:mm). Digits finer than a millisecond are
// cut off. A leap second (:60) is refused: no phone shows one.
func ReadTime(b []byte) (ms int64, offsetMin int, ok bool) {
	if len(b) < len("2006-01-02T15:04:05Z") || b[4] != '-' || b[7] != '-' || b[10] != 'T' || b[13] != ':' || b[16] != ':' {
		return 0, 0, false
	}
	hi, ok1 := two(b[0:])
	lo, ok2 := two(b[2:])
	month, ok3 := two(b[5:])
	day, ok4 := two(b[8:])
	h, ok5 := two(b[11:])
	m, ok6 := two(b[14:])
	s, ok7 := two(b[17:])
	year := hi*100 + lo
	if !(ok1 && ok2 && ok3 && ok4 && ok5 && ok6 && ok7) || month < 1 || month > 12 ||
		day < 1 || day > daysIn(year, month) || h > 23 || m > 59 || s > 59 {
		return 0, 0, false
	}
	milli, rest, ok := fraction(b[19:])
	if !ok {
		return 0, 0, false
	}
	if offsetMin, ok = readOffset(rest); !ok {
		return 0, 0, false
	}
	minutes := (days(year, month, day)*24+int64(h))*60 + int64(m) - int64(offsetMin)
	return (minutes*60+int64(s))*1000 + int64(milli), offsetMin, true
}

func two(b []byte) (int, bool) {
	t, o := b[0]-'0', b[1]-'0'
	return int(t)*10 + int(o), t <= 9 && o <= 9
}

// fraction reads an optional point with 1 to 9 digits.
func fraction(b []byte) (milli int, rest []byte, ok bool) {
	if b[0] != '.' {
		return 0, b, true
	}
	i, scale := 1, 100
	for ; i < len(b) && b[i] >= '0' && b[i] <= '9'; i++ {
		milli += int(b[i]-'0') * scale
		scale /= 10
	}
	return milli, b[i:], i >= 2 && i <= 10
}

func readOffset(b []byte) (minutes int, ok bool) {
	if len(b) == 1 && b[0] == 'Z' {
		return 0, true
	}
	if len(b) != len("+00:00") || b[3] != ':' || b[0] != '+' && b[0] != '-' {
		return 0, false
	}
	h, ok1 := two(b[1:])
	m, ok2 := two(b[4:])
	minutes = h*60 + m
	if b[0] == '-' {
		minutes = -minutes
	}
	return minutes, ok1 && ok2 && h <= 23 && m <= 59
}

func daysIn(year, month int) int {
	switch month {
	case 2:
		if year%4 == 0 && (year%100 != 0 || year%400 == 0) {
			return 29
		}
		return 28
	case 4, 6, 9, 11:
		return 30
	}
	return 31
}

// days counts the days from 1970-01-01 in the Gregorian calendar. The year is
// taken to begin in March, so that the leap day is its last; 153 days lie in
// every five months from March on.
func days(year, month, day int) int64 {
	y, m := int64(year), int64(month)-3
	if m < 0 {
		y, m = y-1, m+12
	}
	leaps := floorDiv(y, 4) - floorDiv(y, 100) + floorDiv(y, 400)
	const march0 = 719468 // days from 0000-03-01 to 1970-01-01; the test compares with package time
	return y*365 + leaps + (153*m+2)/5 + int64(day) - 1 - march0
}

func floorDiv(a, b int64) int64 {
	if a < 0 {
		return -((-a + b - 1) / b)
	}
	return a / b
}

// appendTime writes ms in the local time of offsetMin, always with milliseconds.
func appendTime(dst []byte, ms int64, offsetMin int) []byte {
	ms += int64(offsetMin) * 60_000
	day := floorDiv(ms, 86_400_000)
	rest := int(ms - day*86_400_000)
	y, mo, d := date(day)
	dst = digits(dst, y, 4)
	dst = digits(append(dst, '-'), mo, 2)
	dst = digits(append(dst, '-'), d, 2)
	dst = digits(append(dst, 'T'), rest/3_600_000, 2)
	dst = digits(append(dst, ':'), rest/60_000%60, 2)
	dst = digits(append(dst, ':'), rest/1000%60, 2)
	dst = digits(append(dst, '.'), rest%1000, 3)
	sign := byte('+')
	if offsetMin < 0 {
		sign, offsetMin = '-', -offsetMin
	}
	dst = digits(append(dst, sign), offsetMin/60, 2)
	return digits(append(dst, ':'), offsetMin%60, 2)
}

// date is the inverse of days.
func date(day int64) (year, month, d int) {
	z := day + 719468
	era := floorDiv(z, 146097) // days in 400 years
	in := z - era*146097
	y := (in - in/1460 + in/36524 - in/146096) / 365
	in -= y*365 + y/4 - y/100
	m := (5*in + 2) / 153
	d = int(in-(153*m+2)/5) + 1
	y += era * 400
	if m += 3; m > 12 {
		m -= 12
		y++
	}
	return int(y), int(m), d
}

func digits(dst []byte, n, width int) []byte {
	var b [4]byte
	for i := width - 1; i >= 0; i-- {
		b[i] = byte('0' + n%10)
		n /= 10
	}
	return append(dst, b[:width]...)
}

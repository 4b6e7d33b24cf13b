package measure

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// number reads one number and the unit word behind it, in lower case; a blank
// within "sq ft" is skipped. rest is what follows.
func (s Style) number(text string) (d decimal, name, rest string, code TextCode) {
	if text == "" {
		return d, "", "", TextEmpty
	}
	for _, sign := range []string{"-", "−", "+"} {
		if t, ok := strings.CutPrefix(text, sign); ok {
			text, d.neg = strings.TrimSpace(t), sign != "+"
			break
		}
	}
	digits, rest := cutNumber(text)
	whole, frac, code := s.split(digits)
	if code != "" {
		return d, "", "", code
	}
	whole, frac = strings.TrimLeft(whole, "0"), strings.TrimRight(frac, "0")
	switch {
	case len(whole) > 18:
		return d, "", "", TextLarge
	case len(frac) > 12 || len(whole)+len(frac) > 18:
		return d, "", "", TextDigits
	}
	for _, c := range whole + frac {
		d.n = d.n*10 + uint64(c-'0')
	}
	d.k = len(frac)
	name, rest = cutWord(rest)
	if name == "sq" || name == "°" {
		var more string
		more, rest = cutWord(rest)
		name += more
	}
	return d, name, rest, ""
}

func cutWord(text string) (word, rest string) {
	text = strings.ToLower(strings.TrimSpace(text))
	end := len(text)
	for i, r := range text {
		if unicode.IsSpace(r) || i > 0 && (unicode.IsDigit(r) && !unitDigit(text, i) || r == '-' || r == '+') {
			end = i
			break
		}
	}
	word = strings.TrimSuffix(text[:end], ".")
	return word, strings.TrimSpace(text[end:])
}

// unitDigit tells a 2 that belongs to m2 or ft2 from the next number, as in 2lb3oz.
func unitDigit(text string, i int) bool {
	return text[i] == '2' && (strings.HasSuffix(text[:i], "m") || strings.HasSuffix(text[:i], "ft") || strings.HasSuffix(text[:i], "in")) &&
		(i+1 == len(text) || text[i+1] == ' ')
}

// cutNumber cuts the longest run of digits, signs and grouping blanks.
func cutNumber(text string) (number, rest string) {
	end, afterDigit := 0, false
	for i := 0; i < len(text); {
		r, size := utf8.DecodeRuneInString(text[i:])
		switch {
		case r >= '0' && r <= '9':
			end, afterDigit = i+size, true
		case r == '.' || r == ',':
			end, afterDigit = i+size, false
		case isGroup(r) && afterDigit && i+size < len(text) && text[i+size] >= '0' && text[i+size] <= '9':
			afterDigit = false
		default:
			return text[:end], text[end:]
		}
		i += size
	}
	return text[:end], text[end:]
}

// isGroup: blank, no-break, narrow no-break and thin space, and both apostrophes.
func isGroup(r rune) bool {
	return r == ' ' || r == '\u00a0' || r == '\u202f' || r == '\u2009' || r == '\'' || r == '’'
}

// split finds the decimal sign by the rule at the top of this file and returns
// the bare digits before and behind it.
func (s Style) split(number string) (whole, frac string, code TextCode) {
	dots, commas := strings.Count(number, "."), strings.Count(number, ",")
	mark := "" // the decimal sign in this number, if any
	switch {
	case dots > 0 && commas > 0:
		mark = number[strings.LastIndexAny(number, ".,"):][:1]
	case dots+commas == 1:
		mark = number[strings.IndexAny(number, ".,"):][:1]
		if mark[0] != s.decimalSign() && mayGroup(number, mark) {
			return "", "", TextAmbiguous
		}
	}
	whole = number
	if mark != "" {
		if strings.Count(number, mark) > 1 {
			return "", "", TextNumber
		}
		whole, frac, _ = strings.Cut(number, mark)
	}
	whole, ok := ungroup(whole)
	if !ok || whole+frac == "" || strings.ContainsFunc(frac, func(r rune) bool { return r < '0' || r > '9' }) {
		return "", "", TextNumber
	}
	return whole, frac, ""
}

// mayGroup tells whether the one sign in number might group thousands.
func mayGroup(number, mark string) bool {
	before, after, _ := strings.Cut(number, mark)
	return len(after) == 3 && len(before) >= 1 && len(before) <= 3 && before[0] != '0'
}

// ungroup takes grouping signs of one kind out of whole; every group but the
// first must have three digits.
func ungroup(whole string) (digits string, ok bool) {
	isDigit := func(r rune) bool { return r >= '0' && r <= '9' }
	at := strings.IndexFunc(whole, func(r rune) bool { return !isDigit(r) })
	if at < 0 {
		return whole, true
	}
	r, size := utf8.DecodeRuneInString(whole[at:])
	groups := strings.Split(whole, whole[at:at+size])
	for i, g := range groups {
		if i > 0 && len(g) != 3 || i == 0 && (len(g) < 1 || len(g) > 3) || strings.ContainsFunc(g, func(r rune) bool { return !isDigit(r) }) {
			return "", false
		}
	}
	return strings.Join(groups, ""), isGroup(r) || r == '.' || r == ','
}

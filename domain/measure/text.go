package measure

import "strconv"

// Style is how a person reads quantities. The zero value is metric and English.
type Style struct {
	Units string // "metric" or "us"
	Lang  string // "en" or "es"
}

// Ratio prints virgin : reclaim in whole percent that add up to 100, such as
// "70:30". A side that is there at all is never printed as 0: at the ends stands
// "99:1" or "1:99". Half a percent rounds towards more reclaim, the careful side.
// Nothing at all is "–". It panics if a mass is negative.
func (Style) Ratio(virgin, reclaim Mass) string {
	if virgin < 0 || reclaim < 0 {
		panic("measure: ratio of a negative mass")
	}
	if virgin == 0 && reclaim == 0 {
		return "–"
	}
	r := int64(reclaim.MulDiv(100, int64(virgin+reclaim)))
	switch {
	case r == 0 && reclaim > 0:
		r = 1
	case r == 100 && virgin > 0:
		r = 99
	}
	return strconv.FormatInt(100-r, 10) + ":" + strconv.FormatInt(r, 10)
}

package booth

import "math"

// DeltaE is the colour difference CIEDE2000 with kL = kC = kH = 1 between two
// CIELAB colours (L* 0 to 100). Symmetric; 0 for the same colour.
//
// Where the hues stand exactly opposite the formula jumps by some hundredths.
// There the published pairs 10 and 14 need the hue difference as it is;
// go-colorful, which carries colours as sRGB, loses it on the way there and
// back (pair 10: 7.2195 instead of 7.1792). So the formula stands here and the
// tests hold it against go-colorful everywhere else.
//
// Source: Sharma, Wu, Dalal, "The CIEDE2000 color-difference formula:
// implementation notes, supplementary test data, and mathematical
// observations", Color Research and Application 30 (2005), equations 2 to 22.
func DeltaE(x, y [3]float64) float64 {
	g := 0.5 * (1 - chromaWeight((math.Hypot(x[1], x[2])+math.Hypot(y[1], y[2]))/2))
	c1, h1 := polar((1+g)*x[1], x[2])
	c2, h2 := polar((1+g)*y[1], y[2])
	dh, hm := hues(c1, h1, c2, h2)
	lm, cm := (x[0]+y[0])/2, (c1+c2)/2

	t := 1 - 0.17*cosDeg(hm-30) + 0.24*cosDeg(2*hm) + 0.32*cosDeg(3*hm+6) - 0.20*cosDeg(4*hm-63)
	l50 := (lm - 50) * (lm - 50)
	sl := 1 + 0.015*l50/math.Sqrt(20+l50)
	sc := 1 + 0.045*cm
	sh := 1 + 0.015*cm*t
	turn := 30 * math.Exp(-((hm-275)/25)*((hm-275)/25))
	rt := -2 * chromaWeight(cm) * math.Sin(2*turn*math.Pi/180)

	dl := (y[0] - x[0]) / sl
	dc := (c2 - c1) / sc
	dH := 2 * math.Sqrt(c1*c2) * math.Sin(dh/2*math.Pi/180) / sh
	return math.Sqrt(dl*dl + dc*dc + dH*dH + rt*dc*dH)
}

// chromaWeight is √(c⁷/(c⁷+25⁷)).
func chromaWeight(c float64) float64 {
	c7 := math.Pow(c, 7)
	return math.Sqrt(c7 / (c7 + 6103515625))
}

// polar gives chroma and hue in degrees from 0 to 360; the hue of grey is 0.
func polar(a, b float64) (c, h float64) {
	c = math.Hypot(a, b)
	if c == 0 {
		return 0, 0
	}
	if h = math.Atan2(b, a) * 180 / math.Pi; h < 0 {
		h += 360
	}
	return c, h
}

// hues gives the difference of two hues from -180 to 180 degrees and their
// mean. Differences within a billionth of a degree of 180 count as 180.
func hues(c1, h1, c2, h2 float64) (dh, mean float64) {
	const opposite = 180 + 1e-9
	if c1 == 0 || c2 == 0 {
		return 0, h1 + h2
	}
	dh, mean = h2-h1, (h1+h2)/2
	if math.Abs(dh) <= opposite {
		return dh, mean
	}
	if dh > 0 {
		dh -= 360
	} else {
		dh += 360
	}
	if h1+h2 < 360 {
		return dh, mean + 180
	}
	return dh, mean - 180
}

func cosDeg(d float64) float64 { return math.Cos(d * math.Pi / 180) }

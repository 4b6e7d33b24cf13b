package booth

import (
	"math"

	"github.com/lucasb-eyer/go-colorful"
)

// Chemistries of a powder's binder. Common practice, no source: these are the
// families that data sheets name.
const (
	Epoxy         = "epoxy"
	Hybrid        = "hybrid" // epoxy-polyester
	Polyester     = "polyester"
	Polyurethane  = "polyurethane"
	Acrylic       = "acrylic"
	Fluoropolymer = "fluoropolymer"
	OtherBinder   = "other" // known, and none of the above
)

// Chemistries lists the chemistry ids a powder may carry.
func Chemistries() []string {
	return []string{Epoxy, Hybrid, Polyester, Polyurethane, Acrylic, Fluoropolymer, OtherBinder}
}

// Finishes of a cured film. Common practice, no source. The finish says what
// matters for cleaning: a metallic carries flakes, a texture carries the agent
// that opens craters in a smooth film, a clear hides no speck.
const (
	Gloss    = "gloss"
	Satin    = "satin"
	Matt     = "matt"
	Texture  = "texture"
	Metallic = "metallic"
	Clear    = "clear"
)

// Finishes lists the finish ids a powder may carry.
func Finishes() []string { return []string{Gloss, Satin, Matt, Texture, Metallic, Clear} }

// Powder is what the cleaning rules look at. Empty or nil fields are unknown
// and are treated on the safe side.
type Powder struct {
	ID        string
	Chemistry string      // one of Chemistries, or ""
	Finish    string      // one of Finishes, or ""
	Lab       *[3]float64 // CIELAB of the cured film: L* 0 to 100, a* and b* from -200 to 200; nil when not measured
}

// lab returns the colour and whether it is known. Values that are not numbers
// or lie outside these ranges count as unknown.
func (p *Powder) lab() (lab [3]float64, known bool) {
	if p == nil || p.Lab == nil {
		return lab, false
	}
	lab = *p.Lab
	ok := lab[0] >= 0 && lab[0] <= 100 && math.Abs(lab[1]) <= 200 && math.Abs(lab[2]) <= 200
	return lab, ok
}

// Swatch is the colour as "#rrggbb" for a screen: sRGB under D65, clipped to
// what a screen can show, and false when the colour is unknown. It is a picture
// of the colour, never a match.
func (p *Powder) Swatch() (hex string, known bool) {
	lab, known := p.lab()
	if !known {
		return "", false
	}
	return colorful.Lab(lab[0]/100, lab[1]/100, lab[2]/100).Clamped().Hex(), true
}

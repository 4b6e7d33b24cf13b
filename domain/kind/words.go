package kind

import "slices"

// Words of the shop floor that bodies may use.
var (
	Levels      = []string{"purge", "blowdown", "full", "strip"} // how far a booth is cleaned, rising
	Modes       = []string{"waste", "collect", "loop"}           // what becomes of overspray
	Roles       = []string{Coater, Clerk, Manager}               // rising: a role may do what those before it may
	PlaceKinds  = []string{"shelf", "vessel", "scrap"}
	Chemistries = []string{"epoxy", "hybrid", "polyester", "polyurethane", "acrylic", "fluoropolymer", "other"}
	Finishes    = []string{"gloss", "satin", "matt", "texture", "metallic", "clear"}
	UnitSystems = []string{"metric", "us"}
	Languages   = []string{"en", "es"}
)

// LevelRank says how far a level cleans: 0 for the least, -1 for no level.
func LevelRank(level string) int { return slices.Index(Levels, level) }

const nameMax = 80

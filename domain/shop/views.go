package shop

// The views are what the screens show: plain values with JSON tags, made by
// [State] for one [Reader]. TypeScript types are generated from them, so a
// screen never computes with masses: every quantity comes as exact milligrams
// and as the text to print.

// Qty is a mass: exact and as text in the reader's units and language.
type Qty struct {
	MG   int64  `json:"mg"`
	Text string `json:"text"`
}

// Ref names a thing and says what to call it.
type Ref struct {
	ID   string `json:"id"`
	Name string `json:"name"`
}

// PowderRef is a powder with what is needed to draw it.
type PowderRef struct {
	ID     string      `json:"id"`
	Name   string      `json:"name"`
	Code   string      `json:"code,omitempty"`
	Lab    *[3]float64 `json:"lab,omitempty"` // CIE L*, a*, b*; nil where not measured
	Finish string      `json:"finish"`
	Swatch string      `json:"swatch,omitempty"` // "#rrggbb", a picture of the colour, never a match; "" where not measured
}

// Layer is the powder of one lot and one number of passes in a place.
type Layer struct {
	Lot     string `json:"lot"` // "" for what a list gathers of many small ones
	Batch   string `json:"batch"`
	Passes  int    `json:"passes"` // 0 is virgin
	Mass    Qty    `json:"mass"`
	SharePM int64  `json:"share_pm"` // of the place's content, rounded
	Expired bool   `json:"expired,omitempty"`
	Held    bool   `json:"held,omitempty"`
}

// VesselView is a place with what is in it. Layers come in the order to draw
// them from the bottom: virgin first, then by passes, within that by lot.
type VesselView struct {
	Place      string     `json:"place"`
	Name       string     `json:"name"`
	Kind       string     `json:"kind"` // shelf, vessel, scrap
	Booth      string     `json:"booth,omitempty"`
	Powder     *PowderRef `json:"powder,omitempty"` // the powder in it; nil when empty or mixed
	Mixed      bool       `json:"mixed,omitempty"`  // more than one powder in it
	Mass       Qty        `json:"mass"`
	Capacity   *Qty       `json:"capacity,omitempty"`
	FillPM     int64      `json:"fill_pm"` // of the capacity; 0 when there is none
	Virgin     Qty        `json:"virgin"`
	Reclaim    Qty        `json:"reclaim"`
	Ratio      string     `json:"ratio"` // virgin:reclaim such as "70:30"; "" when empty
	ReclaimPM  int64      `json:"reclaim_pm"`
	LimitPM    int64      `json:"limit_pm"` // the powder's limit; 1000 when it has none
	OverLimit  bool       `json:"over_limit"`
	MaxPasses  int        `json:"max_passes"` // of what is in it
	Layers     []Layer    `json:"layers"`
	Tare       *Qty       `json:"tare,omitempty"`
	WeighedMS  int64      `json:"weighed_ms,omitempty"` // last weighing
	FeedsRun   string     `json:"feeds_run,omitempty"`  // the open run it feeds
	CleanLevel string     `json:"clean_level,omitempty"`
	Unsieved   bool       `json:"unsieved,omitempty"` // holds recovered powder that was not sieved
}

// LotView is one lot and where it is.
type LotView struct {
	Lot        string    `json:"lot"`
	Batch      string    `json:"batch"`
	Powder     PowderRef `json:"powder"`
	State      string    `json:"state"` // usable, soon (use-by within 30 days), expired, held, gone
	HeldWhy    string    `json:"held_why,omitempty"`
	ReceivedMS int64     `json:"received_ms"`
	Made       string    `json:"made,omitempty"`
	UseBy      string    `json:"use_by,omitempty"`
	Received   Qty       `json:"received"`
	Stock      Qty       `json:"stock"` // virgin, on shelves
	Turn       int       `json:"turn"`  // 1 is the lot to use first; 0 when not to be used
	Packs      int64     `json:"packs,omitempty"`
	Warm       *WarmView `json:"warm,omitempty"` // nil when no warm day is known
	At         []LotAt   `json:"at"`
}

// WarmView is what warm days in the store cost a lot, by a rule of thumb: an
// estimate that blocks nothing, for the powder's maker decides.
type WarmView struct {
	UseBy    string `json:"use_by"` // estimated last day
	LostDays int64  `json:"lost_days"`
	WarmDays int64  `json:"warm_days"`
	Highest  string `json:"highest"` // temperature of the warmest of them
	Limit    string `json:"limit"`
}

// LotAt is how much of a lot is in a place, all passes together.
type LotAt struct {
	Place Ref    `json:"place"`
	Kind  string `json:"kind"` // shelf, vessel, scrap
	Mass  Qty    `json:"mass"`
}

// StockView is one powder's stock.
type StockView struct {
	Powder  PowderRef `json:"powder"`
	Total   Qty       `json:"total"`   // everywhere but scrap
	Shelf   Qty       `json:"shelf"`   // virgin on shelves, usable
	Vessels Qty       `json:"vessels"` // virgin in vessels
	Reclaim Qty       `json:"reclaim"` // passes >= 1, everywhere but scrap
	Blocked Qty       `json:"blocked"` // held or expired
	Lots    []LotView `json:"lots"`    // in use-first order, then what must not be used
	LimitPM int64     `json:"limit_pm"`
	Use     *UseView  `json:"use,omitempty"` // nil while too little is known
}

// UseView is how fast a powder is used, and when to order it.
type UseView struct {
	Days      int64      `json:"days"` // looked at, before today
	PerDay    Qty        `json:"per_day"`
	CoverDays int64      `json:"cover_days"`         // how long what may be used lasts; -1 when none was used
	LastsTo   string     `json:"lasts_to,omitempty"` // that day
	Point     *Qty       `json:"point,omitempty"`    // order when the stock falls to this; nil without a lead time
	Order     *OrderView `json:"order,omitempty"`    // what to order now
}

// OrderView is an order in whole boxes.
type OrderView struct {
	Boxes int64 `json:"boxes"`
	Mass  Qty   `json:"mass"`
}

// Balance says where the powder of a run or a month went. Gross = on parts +
// recovered + scrapped + lost, to the milligram.
type Balance struct {
	Gross     Qty    `json:"gross"` // out of the gun
	Net       Qty    `json:"net"`   // left the feed for good
	OnParts   Qty    `json:"on_parts"`
	Recovered Qty    `json:"recovered"`
	Scrapped  Qty    `json:"scrapped"`
	Lost      Qty    `json:"lost"`
	LostSD    *Qty   `json:"lost_sd,omitempty"` // standard uncertainty of lost
	TEPM      int64  `json:"te_pm"`             // first-pass transfer efficiency; -1 when unknown
	TE        string `json:"te"`                // "62 %" or ""
	TESDPM    int64  `json:"te_sd_pm"`          // its standard uncertainty; -1 when unknown
	UsePM     int64  `json:"use_pm"`            // utilisation: on parts / net of recovered; -1 when unknown
	Use       string `json:"use"`
	Estimated bool   `json:"estimated"`     // on parts rests on target film, not on readings
	Why       string `json:"why,omitempty"` // code: what is missing for a full balance
}

// RunView is one run: a powder on a booth from change to change.
type RunView struct {
	Run      string          `json:"run"`
	Booth    Ref             `json:"booth"`
	Powder   PowderRef       `json:"powder"`
	Feed     Ref             `json:"feed"`
	Mode     string          `json:"mode"` // waste, collect, loop
	Open     bool            `json:"open"`
	OpenedMS int64           `json:"opened_ms"`
	ClosedMS int64           `json:"closed_ms,omitempty"`
	Balance  Balance         `json:"balance"`
	Jobs     []JobView       `json:"jobs"`
	Lots     []LotShareView  `json:"lots"` // what is on the parts, by mass fraction
	Readings int             `json:"readings"`
	Setup    *SetupView      `json:"setup,omitempty"`
	Cures    []CureView      `json:"cures"` // the latest first
	FilmMean string          `json:"film_mean,omitempty"`
	FilmMin  string          `json:"film_min,omitempty"`
	FilmMax  string          `json:"film_max,omitempty"`
	Capable  *CapabilityView `json:"capable,omitempty"` // nil with fewer than two readings that vary
	Weighed  bool            `json:"weighed"`           // the feed was weighed during the run
}

// CapabilityView is how the film of a run stays within its powder's limits.
type CapabilityView struct {
	Cp   string `json:"cp,omitempty"`
	Cpk  string `json:"cpk"`
	Low  string `json:"low"` // 95 % interval of Cpk
	High string `json:"high"`
	SD   string `json:"sd"` // standard deviation of the film
}

// JobView is the parts of one job in a run.
type JobView struct {
	Job     string `json:"job"`
	Count   int64  `json:"count"`
	Area    string `json:"area"` // of all parts together
	OnParts Qty    `json:"on_parts"`
}

// LotShareView is a lot's part of the powder on a run's parts. The shares of a
// list add up to 1000 ‰ exactly: what rounding leaves over goes one each to the
// largest remainders.
type LotShareView struct {
	Lot     string `json:"lot"`
	Batch   string `json:"batch"`
	Passes  int    `json:"passes"`
	Mass    Qty    `json:"mass"`
	SharePM int64  `json:"share_pm"`
}

// ChangeView is a colour change, open or finished.
type ChangeView struct {
	Change     string     `json:"change"` // id of the entry that started it
	Booth      Ref        `json:"booth"`
	From       *PowderRef `json:"from,omitempty"`
	To         PowderRef  `json:"to"`
	Level      string     `json:"level"`
	Needed     string     `json:"needed"`
	Below      bool       `json:"below"` // cleaned less than the rule asks
	StartedMS  int64      `json:"started_ms"`
	FinishedMS int64      `json:"finished_ms,omitempty"`
	Minutes    int64      `json:"minutes,omitempty"`
	Crew       int64      `json:"crew,omitempty"`
	Scrapped   Qty        `json:"scrapped"`
	By         Ref        `json:"by"`
}

// NeedView is the cleaning level that a pair of powders needs, and why.
type NeedView struct {
	Level   string       `json:"level"`   // purge, blowdown, full, strip
	Minutes int64        `json:"minutes"` // by the rule
	People  int64        `json:"people"`
	Expect  int64        `json:"expect"`  // minutes: the rule and the shop's own changes of this pair
	Changes int64        `json:"changes"` // of them; 0 when it is the rule alone
	Reasons []ReasonView `json:"reasons"`
}

// ReasonView is one rule that spoke: its code has words in every language.
type ReasonView struct {
	Code  string `json:"code"`
	Level string `json:"level"`
	Text  string `json:"text,omitempty"` // figures to show with it, such as "ΔE00 74.0"
	From  string `json:"from,omitempty"` // chemistry or finish before, where that is the reason
	To    string `json:"to,omitempty"`   // and after
}

// AttentionView is something that a person should look at.
type AttentionView struct {
	Code   string `json:"code"`
	Entry  string `json:"entry"` // the entry behind it
	Kind   string `json:"kind"`
	By     Ref    `json:"by"`
	AtMS   int64  `json:"at_ms"`
	Place  *Ref   `json:"place,omitempty"`
	Booth  *Ref   `json:"booth,omitempty"`
	Powder *Ref   `json:"powder,omitempty"`
	Lot    *Ref   `json:"lot,omitempty"`
	Run    string `json:"run,omitempty"`
	Mass   *Qty   `json:"mass,omitempty"`
	Detail string `json:"detail,omitempty"` // a figure or a field name
}

// EntryView is one entry in words: the screens translate Kind and the labels.
type EntryView struct {
	ID      string `json:"id"`
	Kind    string `json:"kind"`
	By      Ref    `json:"by"`
	AtMS    int64  `json:"at_ms"`   // effective
	Sent    bool   `json:"sent"`    // the server has it
	Outcome string `json:"outcome"` // "", accepted, held, refused
	Reason  string `json:"reason"`  // code, when held or refused
	Late    bool   `json:"late"`    // before a closing of the books
	Voided  bool   `json:"voided"`  // by a later entry
	VoidWhy string `json:"void_why,omitempty"`
	Ruled   string `json:"ruled,omitempty"` // of a held entry: released or declined by a manager
	Group   string `json:"group,omitempty"` // entries of one task share it
	CanVoid bool   `json:"can_void"`        // the reader may void it
	// LastManager says why it may not be voided, or not be accepted where it is held: the
	// shop would have no manager.
	LastManager bool       `json:"last_manager,omitempty"`
	Facts       []FactView `json:"facts"`
}

// FactView is one field of an entry: Label is a code, Text is ready to print.
type FactView struct {
	Label string `json:"label"`
	Text  string `json:"text"`
}

// BoothView is the coater's first screen.
type BoothView struct {
	Booths    []Ref           `json:"booths"`
	Booth     Ref             `json:"booth"`
	Powder    *PowderRef      `json:"powder,omitempty"` // in the gun now
	Run       *RunView        `json:"run,omitempty"`
	Feed      *VesselView     `json:"feed,omitempty"`
	Bins      []VesselView    `json:"bins"` // vessels of this booth other than the feed
	Change    *ChangeView     `json:"change,omitempty"`
	Clean     *CleanView      `json:"clean,omitempty"`  // last cleaning
	Ground    *GroundView     `json:"ground,omitempty"` // last check
	Setup     *Ref            `json:"setup,omitempty"`  // of the open run
	Recent    []EntryView     `json:"recent"`           // newest first, at most 12
	Attention []AttentionView `json:"attention"`        // of this booth and its vessels
	Powders   []PowderRef     `json:"powders"`
}

// CleanView is a cleanout.
type CleanView struct {
	Level   string `json:"level"`
	AtMS    int64  `json:"at_ms"`
	By      Ref    `json:"by"`
	Minutes int64  `json:"minutes,omitempty"`
	Crew    int64  `json:"crew,omitempty"`
}

// RoomView is the clerk's first screen.
type RoomView struct {
	Stock     []StockView     `json:"stock"`
	Places    []VesselView    `json:"places"`
	Recent    []EntryView     `json:"recent"`
	Attention []AttentionView `json:"attention"` // about lots, shelves and weighings
	Climate   []ClimateView   `json:"climate"`   // last reading of each place
}

// ClimateView is the last reading of a store's climate.
type ClimateView struct {
	Place *Ref   `json:"place,omitempty"` // nil: the store as a whole
	Temp  string `json:"temp"`
	RH    string `json:"rh,omitempty"`
	AtMS  int64  `json:"at_ms"`
}

// OfficeView is the manager's first screen.
type OfficeView struct {
	Stock     []StockView     `json:"stock"`
	Vessels   []VesselView    `json:"vessels"`
	Runs      []RunView       `json:"runs"`    // the newest 8, newest first
	Changes   []ChangeView    `json:"changes"` // the newest 8, newest first
	Attention []AttentionView `json:"attention"`
	Flow      FlowView        `json:"flow"`
	Entries   int64           `json:"entries"` // folded
}

// FlowView is where all powder ever booked is now:
// Received + Found = Shelves + Vessels + Scrap + Parts + Lost + Open + Missing, to the milligram.
type FlowView struct {
	Received Qty `json:"received"`
	Found    Qty `json:"found"` // weighed above the books
	Shelves  Qty `json:"shelves"`
	Vessels  Qty `json:"vessels"`
	Scrap    Qty `json:"scrap"`
	Parts    Qty `json:"parts"`
	Lost     Qty `json:"lost"`
	Open     Qty `json:"open"`    // sprayed in runs still open
	Missing  Qty `json:"missing"` // weighed below the books outside runs
}

// ListsView is what forms offer to choose from.
type ListsView struct {
	Powders []PowderRef  `json:"powders"`
	Places  []VesselView `json:"places"`
	Booths  []Ref        `json:"booths"`
	People  []PersonView `json:"people"`
	Lots    []LotView    `json:"lots"` // with stock, in use-first order per powder
	Setups  []SetupView  `json:"setups"`
}

// PersonView is a person of the shop.
type PersonView struct {
	Person string `json:"person"`
	Name   string `json:"name"`
	Role   string `json:"role"` // coater, clerk, manager
	Gone   bool   `json:"gone,omitempty"`
}

// ShopView is the shop's own settings.
type ShopView struct {
	Name     string `json:"name"`
	Zone     string `json:"zone"`
	Units    string `json:"units"` // metric, us
	Currency string `json:"currency"`
	Lang     string `json:"lang"` // en, es
}

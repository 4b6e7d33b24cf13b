package shop

// A task is one thing a person does at a screen: it turns the filled-in form
// into the entries to record, and shows beforehand what they will do. The same
// code runs for the preview and for the record, so what was shown is what is
// booked.

// Plan is the answer to a filled-in form.
type Plan struct {
	Task     string            `json:"task"`
	OK       bool              `json:"ok"` // no errors; warnings may remain
	Errors   []FormError       `json:"errors"`
	Warnings []Warning         `json:"warnings"` // each asks for one more tap, and together for a reason
	Entries  []Draft           `json:"entries"`  // what would be recorded
	Before   []VesselView      `json:"before"`   // the places it touches, as they are
	After    []VesselView      `json:"after"`    // and as they would be
	Need     *NeedView         `json:"need,omitempty"`
	Best     *BestBlend        `json:"best,omitempty"`
	Diff     *WeighDiff        `json:"diff,omitempty"`
	Lot      *LotView          `json:"lot,omitempty"`    // of a receipt: as it would stand
	Offer    []LotView         `json:"offer,omitempty"`  // lots to take from, use-first order
	Filled   map[string]string `json:"filled,omitempty"` // fields the task filled in by itself, as the form would hold them
}

// FormError says which field of the form cannot stand, by a code that has words
// in every language.
type FormError struct {
	Field string `json:"field"`
	Code  string `json:"code"`
	Got   string `json:"got,omitempty"`
	Want  string `json:"want,omitempty"`
}

// Warning is a rule of the trade that the action would go against. It never blocks.
type Warning struct {
	Code   string `json:"code"`
	Detail string `json:"detail,omitempty"` // figures, ready to print
}

// Draft is an entry not yet signed: kind, body and, where it differs from now,
// the time it happened, as the books count it: whoever writes "at" turns it back
// into a time of the device's clock.
type Draft struct {
	Kind string `json:"kind"`
	Body []byte `json:"-"`
	AtMS int64  `json:"at_ms,omitempty"` // 0 means now
}

// BestBlend is the blend the core would choose for a charge.
type BestBlend struct {
	Virgin    Qty    `json:"virgin"`
	Reclaim   Qty    `json:"reclaim"`
	Lot       string `json:"lot,omitempty"`
	From      string `json:"from,omitempty"` // the shelf of that lot
	Bin       string `json:"bin,omitempty"`
	Ratio     string `json:"ratio"` // of the vessel afterwards
	ReclaimPM int64  `json:"reclaim_pm"`
	Binding   string `json:"binding"`           // code: which limit decided: "", share, reclaim, virgin, room, over
	OverBy    *Qty   `json:"over_by,omitempty"` // binding over: reclaim above what the vessel may hold
	Dilute    *Qty   `json:"dilute,omitempty"`  // binding over: virgin that would bring it down
}

// WeighDiff is what a weighing would derive.
type WeighDiff struct {
	Books   Qty    `json:"books"`
	Weighed Qty    `json:"weighed"`
	Diff    Qty    `json:"diff"`    // absolute
	Meaning string `json:"meaning"` // same, sprayed, missing, found
}

package view

// TraceView is a recall sheet: it follows a lot to the parts, the places and the
// losses, or the parts of a job or run back to their lots. A lot and a job
// together show that lot on that job alone.
//
// Rows whose share of the powder they stand in lies below MinPM are not listed;
// a rest holds their sum, so that what is shown still adds up to the milligram.
type TraceView struct {
	Lot   *LotView   `json:"lot,omitempty"`    // nil when no lot was asked for, or nobody received it
	LotID string     `json:"lot_id"`           // the lot asked for, "" for none
	Job   string     `json:"job"`              // the job asked for, "" for none
	Run   string     `json:"run"`              // the run asked for, "" for none
	MinPM int64      `json:"min_pm"`           // what lies below is not listed, ‰
	Books *TraceSum  `json:"books,omitempty"`  // of a lot asked for by itself: where all of it is
	CutMS int64      `json:"cut_ms,omitempty"` // runs closed earlier may belong here and are listed at the server only; 0: nothing is missing
	Parts TraceParts `json:"parts"`            // on all parts in question, rest included

	Runs       []TraceRunView   `json:"runs"` // newest first
	RunsRest   *TraceRest       `json:"runs_rest,omitempty"`
	Places     []TracePlaceView `json:"places"` // of a lot: where it is now, as it is or as reclaim
	PlacesRest *TraceRest       `json:"places_rest,omitempty"`
	Lots       []LotShareView   `json:"lots"` // of a job or run: what is on its parts
	LotsRest   *TraceRest       `json:"lots_rest,omitempty"`
}

// TraceSum is where all of a lot is, to the milligram:
// Received + Found = OnParts + Lost + Open + Here + Scrapped + Missing + Past.
type TraceSum struct {
	Received Qty `json:"received"`
	Found    Qty `json:"found"` // weighed above the books, or drawn and not in them
	OnParts  Qty `json:"on_parts"`
	Lost     Qty `json:"lost"`     // sprayed in closed runs, neither on parts nor recovered
	Open     Qty `json:"open"`     // sprayed in open runs and not known to be on parts
	Here     Qty `json:"here"`     // on shelves and in vessels
	Scrapped Qty `json:"scrapped"` // in scrap places
	Missing  Qty `json:"missing"`  // weighed below the books outside runs
	Past     Qty `json:"past"`     // sprayed in runs that are not listed here any more
}

// TraceParts is the powder on the parts in question.
type TraceParts struct {
	Mass Qty `json:"mass"` // of the lot asked for, else all
	Of   Qty `json:"of"`   // all powder on those parts
}

// TraceRunView is what was asked for in one run: a lot's part of it, or a job's.
type TraceRunView struct {
	Run     string         `json:"run"`
	Booth   Ref            `json:"booth"`
	Powder  PowderRef      `json:"powder"`
	AtMS    int64          `json:"at_ms"`
	Open    bool           `json:"open"`
	Jobs    []TraceJobView `json:"jobs"`
	OnParts Qty            `json:"on_parts"`
	SharePM int64          `json:"share_pm"` // of all powder on those parts; over all lots of a run they add up to 1000
	Lost    Qty            `json:"lost"`     // of the lot; in an open run what is not known to be on parts yet
	Passes  []TracePass    `json:"passes"`   // what is on the parts, by passes through the gun
}

// TraceJobView is the parts of one job in a run with what was asked for on them.
type TraceJobView struct {
	Job     string `json:"job"`
	Count   int64  `json:"count"`
	OnParts Qty    `json:"on_parts"`
	SharePM int64  `json:"share_pm"` // of all powder on the parts of this job in this run
}

// TracePlaceView is a place that holds some of a lot.
type TracePlaceView struct {
	Place   Ref         `json:"place"`
	Kind    string      `json:"kind"` // shelf, vessel, scrap
	Mass    Qty         `json:"mass"`
	SharePM int64       `json:"share_pm"` // of all powder in the place
	Passes  []TracePass `json:"passes"`
}

// TracePass is powder by the number of its passes through the gun, 0 for virgin.
type TracePass struct {
	Passes int `json:"passes"`
	Mass   Qty `json:"mass"`
}

// TraceRest is the sum of rows below the threshold.
type TraceRest struct {
	Rows    int   `json:"rows"`
	Mass    Qty   `json:"mass"`
	Lost    Qty   `json:"lost"`     // of runs
	SharePM int64 `json:"share_pm"` // of lots: with those listed it makes 1000
}

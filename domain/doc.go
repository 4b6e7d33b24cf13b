// Package domain is the trade: everything a powder shop must compute, pure, the
// same on the phone and on the server. The rules stand in its folders:
//
//	measure   quantities, exact where the books need it; printing and reading
//	form      the fields of a JSON object, declared once
//	ledger    places, contents by lot and passes, exact splitting
//	reclaim   reclaim ratio, blend, steady state, passes, break-even
//	coating   coverage, powder need, transfer efficiency, film acceptance, cure
//	reconcile weighings that contradict each other: agree, test, point at one
//	gun       output and deposit curves, best flow, air, advice
//	booth     cleaning levels, change cost, colour order, dust concentration
//	stock     lots, shelf life, use-first order, reorder point, box labels
//	kind      kinds of entry: their fields, who may record them, what they name
//	shop      what entries make of a shop: state, fold, rules, balance, window
//	view      what is shown of it: views, trace, the work of today
//	task      from a filled-in form to the entries, shown before they are recorded
//	calc      every calculation under a name, JSON in and out
//
// # Words
//
// One meaning each, in code, on the screens and in documents:
//
//   - entry: what a person recorded. Never changed; a later entry voids it.
//   - fold: reading all entries in order, which makes the state of the shop.
//   - transfer: the effect of an entry in the ledger: powder from here to there.
//   - place: where powder is. A shelf keeps lots apart, a vessel (hopper, part
//     box in use, reclaim bin) is well mixed, a scrap place only receives.
//   - content: what a place holds, by lot and passes.
//   - lot: one batch of one powder as received.
//   - passes: how often powder has been through the gun. 0 is virgin powder.
//   - reclaim: powder with one pass or more; also the act of using it again.
//   - overspray: powder out of the gun that did not stay on the parts.
//   - recovered: overspray that was collected and came back to a vessel.
//   - reclaim ratio: mass of reclaim over all mass of a vessel; written
//     virgin:reclaim, 70:30.
//   - run: one powder on one booth, from change to change.
//   - feed: the vessel that the gun of a run takes from.
//   - gross, net: what went out of the gun; what of it left the feed for good.
//   - first-pass transfer efficiency: mass on parts over gross.
//   - utilisation: mass on parts over what was used up.
//   - variance: what weighings found missing or too much outside runs.
//   - change: a colour change, from one powder to the next on a booth.
//   - level: how far a booth is cleaned: purge, blowdown, full, strip.
//   - held: recorded but not counted until a manager rules on it.
//   - void: an entry that takes another one out of the books.
//   - issue: something that needs a person's attention.
package domain

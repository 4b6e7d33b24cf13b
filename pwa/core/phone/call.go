package phone

import (
	"errors"
	"fmt"

	"hoppertally/domain/form"
	"hoppertally/domain/kind"
	"hoppertally/domain/view"
	"hoppertally/sync/replica"
)

// Answer is what a call gives back: JSON, and bytes that JSON could not carry
// unaltered.
type Answer struct {
	JSON  []byte
	Blobs [][]byte
}

// Problem is a refusal as the page gets it.
type Problem struct {
	Code   string `json:"code"`
	Title  string `json:"title"`
	Detail string `json:"detail,omitempty"`
}

// ProblemOf turns an error of a call into what the page gets.
func ProblemOf(err error) Problem {
	var refusal *Refusal
	var field *form.Error
	var missing *view.Error
	switch {
	case errors.As(err, &refusal):
		return Problem{refusal.Code, refusal.Text, refusal.Detail}
	case errors.As(err, &field):
		return Problem{string(field.Code), field.Error(), field.Field}
	case errors.As(err, &missing) && missing.Code == "view.unknown":
		return Problem{missing.Code, missing.Error(), missing.What}
	case errors.As(err, &missing):
		return Problem{"thing.unknown", missing.Error(), ""}
	}
	return Problem{"internal", err.Error(), ""}
}

// ops by name.
var ops = map[string]func(*Phone, *args) (Answer, error){
	"open": (*Phone).callOpen,
	"person": func(p *Phone, a *args) (Answer, error) {
		p.SetPerson(personOf(a.v.Get("person")))
		return Answer{}, nil
	},
	"style": func(p *Phone, a *args) (Answer, error) {
		p.SetStyle(a.text("units"), a.text("lang"))
		return Answer{}, nil
	},
	"skew": func(p *Phone, a *args) (Answer, error) {
		p.SetSkew(a.int("skew_ms"))
		return Answer{}, nil
	},
	"rehearse": func(p *Phone, a *args) (Answer, error) {
		p.Rehearse(a.now, a.int("n"))
		return Answer{}, nil
	},
	"view": func(p *Phone, a *args) (Answer, error) {
		return jsonAnswer(p.View(a.now, a.text("name"), a.raw("params")))
	},
	"plan": func(p *Phone, a *args) (Answer, error) {
		return jsonAnswer(p.Plan(a.now, a.text("name"), a.form("form")), nil)
	},
	"prepare": func(p *Phone, a *args) (Answer, error) {
		token, err := p.Prepare(a.now, a.text("name"), a.form("form"), a.text("why"))
		return jsonAnswer(map[string]int64{"token": token}, err)
	},
	"seal":     (*Phone).callSeal,
	"recorded": func(p *Phone, a *args) (Answer, error) { return effectsAnswer(p.Recorded(a.now, a.int("token"))) },
	"drop": func(p *Phone, a *args) (Answer, error) {
		p.Drop(a.int("token"))
		return Answer{}, nil
	},
	"load_base": func(p *Phone, a *args) (Answer, error) {
		if len(a.blob) == 0 {
			return Answer{}, &Refusal{Code: "internal", Text: "a base without its state"}
		}
		return Answer{}, p.LoadBase(a.text("epoch"), baseOf(a.v.Get("base")), a.blob[0], a.blob[1:])
	},
	"piece": func(p *Phone, a *args) (Answer, error) {
		if len(a.blob) != 1 {
			return Answer{}, &Refusal{Code: "internal", Text: "a piece without its bytes"}
		}
		p.Piece(a.text("kind"), a.text("sha256"), a.blob[0])
		return Answer{}, nil
	},
	"plain": (*Phone).callPlain,
	"load":  func(p *Phone, a *args) (Answer, error) { return Answer{}, a.each(p.Load) },
	"loaded": func(p *Phone, a *args) (Answer, error) {
		p.Loaded(a.text("epoch"))
		return Answer{}, nil
	},
	"append": func(p *Phone, a *args) (Answer, error) { return Answer{}, a.each(p.Append) },
	"step": func(p *Phone, a *args) (Answer, error) {
		in, err := a.input(p)
		if err != nil {
			return Answer{}, err
		}
		return effectsAnswer(p.Step(a.now, in))
	},
	"status": (*Phone).callStatus,
	"save":   func(p *Phone, _ *args) (Answer, error) { return p.callSave() },
	"unsent": func(p *Phone, _ *args) (Answer, error) { return Answer{Blobs: [][]byte{p.Unsent()}}, nil },
	"text": func(p *Phone, a *args) (Answer, error) {
		return jsonAnswer(p.Text(a.now, a.text("kind"), a.int("value")))
	},
}

func (p *Phone) callOpen(a *args) (Answer, error) {
	var snapshot []byte
	blobs := a.blob
	if a.v.GetBool("has_snapshot") && len(blobs) > 0 {
		snapshot, blobs = blobs[0], blobs[1:]
	}
	own, err := a.rows(blobs)
	if err != nil {
		return Answer{}, err
	}
	return effectsAnswer(p.Open(a.now, a.opening(), snapshot, own))
}

// callPlain gives stored states and pages back without what is for the office only: as
// the server would have sent them to somebody who may not see it.
func (p *Phone) callPlain(a *args) (out Answer, err error) {
	for _, b := range a.blob {
		plain, err := kind.Redact(b)
		if err != nil {
			return Answer{}, err
		}
		out.Blobs = append(out.Blobs, plain)
	}
	return out, nil
}

func (p *Phone) callSeal(a *args) (Answer, error) {
	own, err := p.Seal(a.now, a.int("token"), a.int("n"))
	if err != nil {
		return Answer{}, err
	}
	out, err := jsonAnswer(own, nil)
	for _, o := range own {
		out.Blobs = append(out.Blobs, o.Bytes)
	}
	return out, err
}

func (p *Phone) callStatus(a *args) (Answer, error) {
	var behind *replica.Cursor
	if after, ok := p.Behind(); ok {
		behind = &after
	}
	return jsonAnswer(struct {
		Status
		Behind *replica.Cursor `json:"behind,omitempty"`
		Have   replica.Cursor  `json:"have"`
		Cursor replica.Cursor  `json:"cursor"`
	}{p.Status(a.now), behind, p.have, p.sync.Cursor()}, nil)
}

func (p *Phone) callSave() (Answer, error) {
	data, at, ok := p.Save()
	if !ok {
		return jsonAnswer(nil, nil)
	}
	out, err := jsonAnswer(at, nil)
	out.Blobs = [][]byte{data}
	return out, err
}

// each gives every blob to take, as a page of the epoch in the arguments.
func (a *args) each(take func(epoch string, page []byte) error) error {
	for _, b := range a.blob {
		if err := take(a.text("epoch"), b); err != nil {
			return err
		}
	}
	return nil
}

// Call runs one op with JSON arguments and whatever bytes go with them. Blobs are
// the phone's to keep.
func (p *Phone) Call(op string, in []byte, blobs [][]byte) (Answer, error) {
	run := ops[op]
	if run == nil {
		return Answer{}, &Refusal{Code: "internal", Text: fmt.Sprintf("no op %q", op)}
	}
	a, err := readArgs(&p.args, in, blobs)
	if err != nil {
		return Answer{}, err
	}
	return run(p, a)
}

func jsonAnswer(v any, err error) (Answer, error) {
	if err != nil {
		return Answer{}, err
	}
	return Answer{JSON: appendJSON(nil, v)}, nil
}

// JSON writes a problem.
func (p Problem) JSON() []byte { return appendJSON(nil, p) }

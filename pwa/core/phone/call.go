package phone

import (
	"encoding/json"
	"errors"
	"fmt"

	"hoppertally/domain/calc"
	"hoppertally/domain/form"
	"hoppertally/domain/shop"
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
	var view *shop.ViewError
	var unknown *calc.UnknownError
	var span *calc.RangeError
	switch {
	case errors.As(err, &refusal):
		return Problem{refusal.Code, refusal.Text, refusal.Detail}
	case errors.As(err, &field):
		return Problem{string(field.Code), field.Error(), field.Field}
	case errors.As(err, &view):
		return Problem{view.Code, view.Error(), view.What}
	case errors.As(err, &unknown):
		return Problem{"calc.unknown", unknown.Error(), ""}
	case errors.As(err, &span):
		return Problem{"calc.range", span.Error(), span.Field}
	}
	return Problem{"internal", err.Error(), ""}
}

// args is the one shape of all calls' arguments; each op reads its own fields.
type args struct {
	Now   Now               `json:"now"`
	Open  *Opening          `json:"open"`
	Rows  []replica.Own     `json:"rows"`
	Has   bool              `json:"has_snapshot"`
	Name  string            `json:"name"`
	Form  map[string]string `json:"form"`
	Why   string            `json:"why"`
	Kind  string            `json:"kind"`
	Value int64             `json:"value"`
	Param json.RawMessage   `json:"params"`
	Token int64             `json:"token"`
	N     int64             `json:"n"`
	Epoch string            `json:"epoch"`
	Input *Input            `json:"input"`
	Who   Person            `json:"person"`
	Units string            `json:"units"`
	Lang  string            `json:"lang"`
	Skew  int64             `json:"skew_ms"`
}

// ops by name.
var ops = map[string]func(*Phone, *args, [][]byte) (Answer, error){
	"open": func(p *Phone, a *args, blobs [][]byte) (Answer, error) {
		if a.Open == nil {
			return Answer{}, &Refusal{Code: "internal", Text: "open without what the store holds"}
		}
		var snapshot []byte
		if a.Has && len(blobs) > 0 {
			snapshot, blobs = blobs[0], blobs[1:]
		}
		own, err := rows(a.Rows, blobs)
		if err != nil {
			return Answer{}, err
		}
		return effectsAnswer(p.Open(a.Now, *a.Open, snapshot, own))
	},
	"person": func(p *Phone, a *args, _ [][]byte) (Answer, error) { p.SetPerson(a.Who); return Answer{}, nil },
	"style":  func(p *Phone, a *args, _ [][]byte) (Answer, error) { p.SetStyle(a.Units, a.Lang); return Answer{}, nil },
	"skew":   func(p *Phone, a *args, _ [][]byte) (Answer, error) { p.SetSkew(a.Skew); return Answer{}, nil },
	"view": func(p *Phone, a *args, _ [][]byte) (Answer, error) {
		b, err := p.View(a.Now, a.Name, a.Param)
		return Answer{JSON: b}, err
	},
	"plan": func(p *Phone, a *args, _ [][]byte) (Answer, error) { return jsonAnswer(p.Plan(a.Now, a.Name, a.Form)) },
	"prepare": func(p *Phone, a *args, _ [][]byte) (Answer, error) {
		token, count, err := p.Prepare(a.Now, a.Name, a.Form, a.Why)
		if err != nil {
			return Answer{}, err
		}
		return jsonAnswer(map[string]int64{"token": token, "count": int64(count)})
	},
	"seal": func(p *Phone, a *args, _ [][]byte) (Answer, error) {
		own, err := p.Seal(a.Now, a.Token, a.N)
		if err != nil {
			return Answer{}, err
		}
		out, err := jsonAnswer(own)
		for _, o := range own {
			out.Blobs = append(out.Blobs, o.Bytes)
		}
		return out, err
	},
	"recorded": func(p *Phone, a *args, _ [][]byte) (Answer, error) {
		return effectsAnswer(p.Recorded(a.Now, a.Token))
	},
	"drop": func(p *Phone, a *args, _ [][]byte) (Answer, error) { p.Drop(a.Token); return Answer{}, nil },
	"load": func(p *Phone, a *args, blobs [][]byte) (Answer, error) {
		for _, b := range blobs {
			if err := p.Load(a.Epoch, b); err != nil {
				return Answer{}, err
			}
		}
		return Answer{}, nil
	},
	"loaded": func(p *Phone, a *args, _ [][]byte) (Answer, error) { p.Loaded(a.Epoch); return Answer{}, nil },
	"append": func(p *Phone, a *args, blobs [][]byte) (Answer, error) {
		for _, b := range blobs {
			if err := p.Append(a.Epoch, b); err != nil {
				return Answer{}, err
			}
		}
		return Answer{}, nil
	},
	"step": func(p *Phone, a *args, blobs [][]byte) (Answer, error) {
		if a.Input == nil {
			return Answer{}, &Refusal{Code: "internal", Text: "step without an input"}
		}
		in, err := a.Input.decode(a, blobs)
		if err != nil {
			return Answer{}, err
		}
		return effectsAnswer(p.Step(a.Now, in))
	},
	"status": func(p *Phone, a *args, _ [][]byte) (Answer, error) {
		after, behind := p.Behind()
		return jsonAnswer(struct {
			Status
			Behind *replica.Cursor `json:"behind,omitempty"`
			Have   replica.Cursor  `json:"have"`
			Cursor replica.Cursor  `json:"cursor"`
		}{p.Status(a.Now), given(after, behind), p.have, p.sync.Cursor()})
	},
	"save": func(p *Phone, _ *args, _ [][]byte) (Answer, error) {
		data, at, ok := p.Save()
		if !ok {
			return jsonAnswer(nil)
		}
		out, err := jsonAnswer(at)
		out.Blobs = [][]byte{data}
		return out, err
	},
	"hash":   func(p *Phone, _ *args, _ [][]byte) (Answer, error) { return jsonAnswer(p.Hash()) },
	"unsent": func(p *Phone, _ *args, _ [][]byte) (Answer, error) { return Answer{Blobs: [][]byte{p.Unsent()}}, nil },
	"text": func(p *Phone, a *args, _ [][]byte) (Answer, error) {
		s, err := p.Text(a.Now, a.Kind, a.Value)
		if err != nil {
			return Answer{}, err
		}
		return jsonAnswer(s)
	},
	"calc": func(_ *Phone, a *args, _ [][]byte) (Answer, error) {
		b, err := calc.Run(a.Name, a.Param)
		return Answer{JSON: b}, err
	},
	"calcs": func(*Phone, *args, [][]byte) (Answer, error) {
		out := []calc.Description{}
		for _, c := range calc.All() {
			d, err := calc.Describe(c.Name)
			if err != nil {
				return Answer{}, err
			}
			out = append(out, d)
		}
		return jsonAnswer(out)
	},
}

func given(c replica.Cursor, ok bool) *replica.Cursor {
	if !ok {
		return nil
	}
	return &c
}

// Call runs one op with JSON arguments and whatever bytes go with them. Blobs are
// the phone's to keep.
func (p *Phone) Call(op string, in []byte, blobs [][]byte) (Answer, error) {
	run := ops[op]
	if run == nil {
		return Answer{}, &Refusal{Code: "internal", Text: fmt.Sprintf("no op %q", op)}
	}
	var a args
	if err := json.Unmarshal(in, &a); err != nil {
		return Answer{}, fmt.Errorf("arguments of %s: %w", op, err)
	}
	return run(p, &a, blobs)
}

func jsonAnswer(v any) (Answer, error) {
	b, err := json.Marshal(v)
	return Answer{JSON: b}, err
}

// rows joins the outbox rows with their entries' bytes, one blob for each.
func rows(own []replica.Own, blobs [][]byte) ([]replica.Own, error) {
	if len(own) != len(blobs) {
		return nil, &Refusal{Code: "internal", Text: fmt.Sprintf("%d rows with %d entries", len(own), len(blobs))}
	}
	for i := range own {
		own[i].Bytes = blobs[i]
	}
	return own, nil
}

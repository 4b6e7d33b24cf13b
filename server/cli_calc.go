package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"

	"hoppertally/domain/calc"
	"hoppertally/domain/form"
)

// calcInputMax is how long an input of a calculation may be, in bytes.
const calcInputMax = 4 << 20

type calcCmd struct {
	Name string `arg:"" optional:"" help:"Such as reclaim.charge. With --help: its inputs, outputs and an example."`
}

// calcHelp tells whether the arguments ask about one calculation.
func calcHelp(args []string) (name string, ok bool) {
	if len(args) != 3 || args[0] != "calc" {
		return "", false
	}
	for i, a := range args[1:] {
		if a == "--help" || a == "-h" {
			name = args[2-i]
			return name, !strings.HasPrefix(name, "-")
		}
	}
	return "", false
}

func (c calcCmd) Run(s *streams) error {
	if c.Name == "" {
		for _, one := range calc.All() {
			d, err := calc.Describe(one.Name)
			if err != nil {
				return err
			}
			describe(s.out, d)
			fmt.Fprintln(s.out)
		}
		return nil
	}
	if _, err := calc.Find(c.Name); err != nil {
		return s.calcFault(err)
	}
	in, err := io.ReadAll(io.LimitReader(s.in, calcInputMax+1))
	if err != nil {
		return fmt.Errorf("read the input: %w", err)
	}
	if len(in) > calcInputMax {
		return s.calcFault(&form.Error{Code: form.Range, Got: fmt.Sprintf("more than %d bytes", calcInputMax), Want: "a shorter input"})
	}
	out, err := calc.Run(c.Name, in)
	if err != nil {
		return s.calcFault(err)
	}
	_, err = fmt.Fprintf(s.out, "%s\n", out)
	return err
}

// calcFault writes what is wrong with name or input as JSON to standard error,
// with the same codes as the server.
func (s *streams) calcFault(err error) error {
	var (
		unknown *calc.UnknownError
		field   *form.Error
		input   *calc.RangeError
		doc     = map[string]any{"detail": err.Error()}
	)
	switch {
	case errors.As(err, &unknown):
		doc["code"], doc["near"] = "calc.unknown", unknown.Near
	case errors.As(err, &field):
		doc["code"], doc["fault"] = "request.field", field
	case errors.As(err, &input):
		doc["code"], doc["fault"] = "calc.input", input
	default:
		return err
	}
	b, err := json.Marshal(doc)
	if err != nil {
		return err
	}
	fmt.Fprintf(s.err, "%s\n", b)
	return &exit{code: exitUsage}
}

func describeCalc(s *streams, name string) error {
	d, err := calc.Describe(name)
	if err != nil {
		return s.calcFault(err)
	}
	describe(s.out, d)
	out, err := calc.Run(name, []byte(d.Example))
	if err != nil {
		return fmt.Errorf("the example of %s: %w", name, err)
	}
	fmt.Fprintf(s.out, "\n  example\n    echo '%s' | hoppertally calc %s\n    %s\n", d.Example, name, out)
	return nil
}

func describe(w io.Writer, d calc.Description) {
	fmt.Fprintf(w, "%s\n  %s\n  source: %s\n  inputs\n", d.Name, d.About, d.Source)
	describeInputs(w, d.Inputs, "    ")
	fmt.Fprintf(w, "  outputs\n")
	describeOutputs(w, d.Outputs, "    ")
}

func describeInputs(w io.Writer, fields []form.Field, indent string) {
	for _, f := range fields {
		if f.Name == "" {
			continue
		}
		line := strings.TrimSpace(f.Type + " " + f.Unit)
		if len(f.Options) > 0 {
			line += ", " + strings.Join(f.Options, " ")
		}
		if f.Min != nil && f.Max != nil {
			line += fmt.Sprintf(", %s to %s", plain(*f.Min), plain(*f.Max))
		}
		if f.Optional {
			line += ", optional"
		}
		fmt.Fprintf(w, "%s%s  %s\n", indent, f.Name, line)
		describeInputs(w, f.Of, indent+"  ")
	}
}

func describeOutputs(w io.Writer, outs []calc.Output, indent string) {
	for _, o := range outs {
		if o.Name == "" {
			continue
		}
		line := strings.TrimSpace(o.Type + " " + o.Unit)
		if o.Doc != "" {
			line += ", " + o.Doc
		}
		fmt.Fprintf(w, "%s%s  %s\n", indent, o.Name, line)
		describeOutputs(w, o.Of, indent+"  ")
	}
}

// plain prints a number without an exponent where it has no fraction.
func plain(x float64) string {
	if x == float64(int64(x)) {
		return fmt.Sprint(int64(x))
	}
	return fmt.Sprint(x)
}

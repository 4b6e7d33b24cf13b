package api

import (
	"encoding/json"
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"

	"hoppertally/domain/form"
	"hoppertally/domain/kind"
	"hoppertally/domain/measure"
	"hoppertally/domain/view"

	"github.com/gofiber/fiber/v2"
)

// Limits of a query.
const (
	rowsMax   = 10_000              // entries of a table when the query does not say
	nowMax    = 253_402_300_799_999 // ms, the end of the year 9999
	offsetMax = 24 * 60             // minutes east or west of UTC
)

// export gives a view as it is (json), or as a table (csv, xlsx). What a reader may
// not see the view leaves out, prices for instance.
//
// Query: what the view asks for (booth, run, place, lot, powder, entry, job, max,
// min_pm), each read by its declared type, and how to print: units, lang, now_ms, offset_min. Without them the shop's
// settings and the present hold. With a phone's own, the json is the phone's view
// to the byte.
func (s *Server) export(c *fiber.Ctx) error {
	what, format, _ := strings.Cut(param(c, "file"), ".")
	r, params, err := s.readExport(c, format != "json")
	if err != nil {
		return err
	}
	switch format {
	case "json":
		b, err := s.Books.View(r, what, params)
		if err != nil {
			return err
		}
		c.Set(fiber.HeaderContentType, fiber.MIMEApplicationJSON)
		return c.Send(b)
	case "csv", "xlsx":
		return s.exportTable(c, r, what, format, params)
	}
	return problem("export.format", "json, csv or xlsx")
}

// readExport takes the query apart: who reads how, and the view's parameters as JSON.
func (s *Server) readExport(c *fiber.Ctx, isTable bool) (view.Reader, []byte, error) {
	who, now := readerOf(c), s.Now()
	r := view.Reader{Person: who.ID, Role: who.Role, Style: s.Books.Style(), NowMS: now.UnixMilli(), OffsetMin: offset(now.In(s.zone()))}
	params := map[string]any{}
	if isTable {
		params["max"] = int64(rowsMax)
	}
	var fault error
	for k, v := range c.Context().QueryArgs().All() {
		key, text := string(k), string(v) // copies
		if fault == nil {
			fault = set(&r, params, key, text)
		}
	}
	if fault != nil {
		return r, nil, fault
	}
	b, err := json.Marshal(params)
	return r, b, err
}

func set(r *view.Reader, params map[string]any, key, text string) error {
	whole := func(into *int64, lo, hi int64) error {
		n, err := strconv.ParseInt(text, 10, 64)
		want := fmt.Sprintf("a whole number from %d to %d", lo, hi)
		switch {
		case errors.Is(err, strconv.ErrRange) || err == nil && (n < lo || n > hi):
			return &form.Error{Code: form.Range, Field: key, Got: text, Want: want}
		case err != nil:
			return &form.Error{Code: form.Type, Field: key, Got: strconv.Quote(text), Want: want}
		}
		*into = n
		return nil
	}
	var n int64
	switch key {
	case "units":
		return oneOf(key, text, &r.Style.Units, kind.UnitSystems)
	case "lang":
		return oneOf(key, text, &r.Style.Lang, kind.Languages)
	case "now_ms":
		return whole(&r.NowMS, 0, nowMax)
	case "offset_min":
		err := whole(&n, -offsetMax, offsetMax)
		r.OffsetMin = int(n)
		return err
	}
	if f := asked[key]; f.Type == "int" {
		err := whole(&n, int64(*f.Min), int64(*f.Max))
		params[key] = n
		return err
	}
	params[key] = text // an id; the view refuses what it does not know
	return nil
}

// asked is what views may be asked about, by name.
var asked = func() map[string]form.Field {
	m := map[string]form.Field{}
	for _, f := range view.Params() {
		m[f.Name] = f
	}
	return m
}()

func oneOf(key, text string, into *string, options []string) error {
	for _, o := range options {
		if o == text {
			*into = o
			return nil
		}
	}
	return &form.Error{Code: form.Range, Field: key, Got: strconv.Quote(text), Want: strings.Join(options, ", ")}
}

// zone is the shop's time zone, UTC before it was set.
func (s *Server) zone() *time.Location {
	if z, err := time.LoadLocation(s.Books.Zone()); err == nil {
		return z
	}
	return time.UTC
}

func offset(t time.Time) int {
	_, sec := t.Zone()
	return sec / 60
}

func (s *Server) exportTable(c *fiber.Ctx, r view.Reader, what, format string, params []byte) error {
	make, ok := tables[what]
	if !ok {
		return problem("export.unknown", "as a table: "+strings.Join(tableNames(), ", "))
	}
	view, err := s.Books.ViewValue(r, make.view, params)
	if err != nil {
		return err
	}
	t := sheet{head: make.head}
	make.rows(&t, view, time.FixedZone("", r.OffsetMin*60))
	var b []byte
	if format == "csv" {
		b, err = t.csv()
		c.Set(fiber.HeaderContentType, "text/csv; charset=utf-8")
	} else {
		b, err = t.xlsx(what)
		c.Set(fiber.HeaderContentType, "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet")
	}
	if err != nil {
		return err
	}
	c.Set(fiber.HeaderContentDisposition, `attachment; filename="hoppertally-`+what+"."+format+`"`)
	return c.Send(b)
}

// kg writes a mass in kg, to the milligram.
func kg(mg int64) string {
	sign := ""
	if mg < 0 {
		sign, mg = "-", -mg
	}
	whole := strconv.FormatInt(mg/int64(measure.Kilogram), 10)
	milli := strconv.FormatInt(mg%int64(measure.Kilogram), 10)
	return sign + whole + "." + strings.Repeat("0", 6-len(milli)) + milli
}

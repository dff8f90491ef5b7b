package api

import (
	"bytes"
	"crypto/sha256"
	_ "embed"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/go-chi/chi/v5"

	"reddside/internal/entries"
	"reddside/internal/ingest"
	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/web/form"
	"reddside/internal/web/req"
)

type readingsOut struct {
	ImportID logbook.ID      `json:"import_id,omitempty"` // absent when nothing was new
	Added    int             `json:"added"`
	Known    int             `json:"known"` // were there already
	Other    int             `json:"other"` // were there with another temperature; the first one stays
	Suspect  int             `json:"suspect"`
	Refused  []refusedOut    `json:"refused"`
	Flags    []flagChangeOut `json:"flags"`
}

type refusedOut struct {
	Line    int    `json:"line"`
	Message string `json:"message"`
	Text    string `json:"text,omitempty"`
}

// apiReadings stores temperatures of a logger or sensor: a JSON list, or a
// logger file as it is. The same readings again change nothing.
func (s *Service) apiReadings(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	season, err := s.SeasonOf(r)
	if err != nil {
		return err
	}
	q := form.ReadQuery(r)
	sensor, name := q.Text("sensor"), q.Text("file_name")
	answers := readAnswers(q)
	confirm := strings.Split(q.Text("confirm"), ",")
	if err := q.Done(); err != nil {
		return err
	}
	data, err := io.ReadAll(r.Body)
	if err != nil {
		return err
	}
	today := s.Assess.Today(season.Site, v.Now)
	var plan entries.ReadingsPlan
	var saved store.Import
	if isJSONBody(r, data) {
		rows, err := readingsFromJSON(data)
		if err != nil {
			return err
		}
		plan = entries.PlanReadings(season, ingest.Result{Readings: rows}, today)
		saved, err = s.storeSensor(r, season, sensor, data, plan)
		if err != nil {
			return err
		}
	} else {
		res, err := readingsFromFile(data, answers, season.Site.Location())
		if err != nil {
			return err
		}
		plan = entries.PlanReadings(season, res, today)
		saved, err = s.Entries.StoreReadings(r.Context(), v.Actor, season, name, res, answers, plan, v.Now,
			confirming(confirm, nil))
		if err != nil {
			return err
		}
	}
	out := readingsOut{ImportID: saved.ID, Added: saved.Added, Known: saved.Known, Other: saved.Other,
		Suspect: plan.Suspect,
		Refused: []refusedOut{}, Flags: flagChangesJSON(r, saved.Changes)}
	for _, p := range plan.Refused {
		out.Refused = append(out.Refused, refusedOut{Line: p.Line, Message: v.P.T(p.Key, p.Args), Text: p.Text})
	}
	return req.WriteJSON(w, http.StatusOK, out)
}

type importVoidOut struct {
	ImportID logbook.ID      `json:"import_id"`
	Flags    []flagChangeOut `json:"flags"`
}

// apiVoidImport takes a file of readings back with a reason.
func (s *Service) apiVoidImport(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	season, err := s.SeasonOf(r)
	if err != nil {
		return err
	}
	reason, err := readReason(r)
	if err != nil {
		return err
	}
	id := logbook.ID(chi.URLParam(r, "importID"))
	changes, err := s.Entries.VoidImport(r.Context(), v.Actor, season, id, reason, v.Now)
	if err != nil {
		return err
	}
	return req.WriteJSON(w, http.StatusOK, importVoidOut{id, flagChangesJSON(r, changes)})
}

// storeSensor stores readings that came as a list.
func (s *Service) storeSensor(r *http.Request, season *logbook.Season, sensor string, data []byte,
	plan entries.ReadingsPlan) (store.Import, error) {
	v := req.Of(r)
	after, err := s.Assess.FlagsAfter(r.Context(), season, v.Now)
	if err != nil {
		return store.Import{}, err
	}
	sum := sha256.Sum256(data)
	in := store.Import{SeasonID: season.ID, Series: entries.Shorten(sensor), FileSHA256: hex.EncodeToString(sum[:]),
		Dialect: `{}`, Refused: plan.Refused}
	return s.DB.SaveReadings(r.Context(), v.Actor, in, plan.Keep, v.Now, after)
}

// isJSONBody tells a JSON list from a logger file, by what is said of it or
// else by its first character.
func isJSONBody(r *http.Request, data []byte) bool {
	switch t, _, _ := strings.Cut(r.Header.Get("Content-Type"), ";"); strings.TrimSpace(strings.ToLower(t)) {
	case "application/json":
		return true
	case "text/csv", "text/plain", "text/tab-separated-values":
		return false
	}
	data = bytes.TrimSpace(data)
	return len(data) > 0 && (data[0] == '[' || data[0] == '{')
}

// readAnswers reads what is said of a logger file that it does not say itself.
func readAnswers(q *form.Query) ingest.Answers {
	a := ingest.Answers{
		DateOrder: ingest.DateOrder(q.Choice("date_order", "ymd", "dmy", "mdy")),
		Midnight:  q.Choice("midnight", ingest.MidnightDaily, ingest.MidnightInstant),
		Decimal:   q.Choice("decimal", ".", ","), Series: q.Text("series"),
		Unit: q.Choice("unit", ingest.TemperatureUnits()...), Zone: q.Text("zone"),
		Air: q.Choice("air", ingest.AirLeaveOut, ingest.AirWater),
	}
	number := func(name string) int {
		s := q.Text(name)
		n, err := strconv.Atoi(s)
		if s != "" && (err != nil || n < 1 || n > ingest.MaxColumns) {
			q.Fail(name, "number.whole_between", logbook.Args{"Min": 1, "Max": ingest.MaxColumns})
		}
		return n
	}
	a.TimeColumn, a.Sheet = number("time_column"), number("sheet")
	return a
}

// readingsFromFile reads a logger file. What it leaves open is asked for: the
// answer goes into the parameter of the question's name.
func readingsFromFile(data []byte, answers ingest.Answers, loc *time.Location) (ingest.Result, error) {
	res, err := ingest.Read(data, answers, loc)
	var file *ingest.FileError
	var questions *ingest.QuestionsError
	switch {
	case errors.As(err, &file):
		return res, logbook.Refuse([]logbook.Problem{{Field: "body", Key: file.Problem.Key, Args: file.Problem.Args}})
	case errors.As(err, &questions):
		var list []logbook.Problem
		for _, q := range questions.Questions {
			args := logbook.Args{}
			for k, x := range q.Args {
				args[k] = x
			}
			var options []string
			for _, o := range q.Options {
				options = append(options, o.Value)
			}
			args[req.ArgOptions] = options
			list = append(list, logbook.Problem{Field: q.ID, Key: q.Key, Args: args})
		}
		return res, logbook.Refuse(list)
	case err != nil:
		return res, err
	case res.Series.Quantity != ingest.Temperature:
		return res, logbook.Refuse([]logbook.Problem{{Field: "series", Key: "import.not_temperature",
			Args: logbook.Args{"Name": res.Series.Label()}}})
	}
	return res, nil
}

// MaxReadings bounds a list of readings, a reading each minute for a month; a
// local choice. The same readings again change nothing, so parts may overlap.
const MaxReadings = 50_000

// readingsFromJSON reads [{at or on, temperature_c or temperature}], all or
// none, one at a time. Impossible values are kept and marked, like those of a
// file.
func readingsFromJSON(data []byte) ([]ingest.Reading, error) {
	p, err := form.NewTreeParser(data)
	if err != nil {
		return nil, err
	}
	refuse := func(key string, args logbook.Args) error {
		return logbook.Refuse([]logbook.Problem{{Field: "body", Key: key, Args: args}})
	}
	if t, err := p.D.Token(); err != nil || t != json.Delim('[') {
		return nil, refuse("api.list", nil)
	}
	var problems []logbook.Problem
	var out []ingest.Reading
	for i := 0; p.D.More() && len(problems) <= form.MaxNamed; i++ {
		if i == MaxReadings {
			return nil, refuse("api.too_many", logbook.Args{"Max": MaxReadings})
		}
		x, err := p.Value(fmt.Sprintf("body[%d]", i), 1)
		if err != nil {
			return nil, form.NotJSON(p.D.InputOffset())
		}
		if len(p.Problems) > 0 {
			return nil, logbook.Refuse(p.Problems)
		}
		out = append(out, readReadingJSON(form.NewObject(x, fmt.Sprintf("[%d]", i), &problems), i+1))
	}
	if err := logbook.Refuse(problems); err != nil {
		return nil, err
	}
	slices.SortStableFunc(out, func(a, b ingest.Reading) int { return momentOf(a).Compare(momentOf(b)) })
	ingest.DefaultQualityLimits().Mark(out, ingest.Temperature)
	return out, nil
}

func momentOf(x ingest.Reading) time.Time {
	if x.At.IsZero() {
		return x.On.UTC()
	}
	return x.At
}

func readReadingJSON(o *form.Object, line int) ingest.Reading {
	x := ingest.Reading{Line: line, At: o.Instant("at"), On: o.Date("on"), Quality: ingest.Good, Unit: ingest.UnitCel}
	_, at := o.Fields["at"]
	_, on := o.Fields["on"]
	switch {
	case at == on:
		o.Fail("at", "api.at_or_on", nil)
	case (at && x.At.IsZero() && !o.Failed("at")) || (on && x.On.IsZero() && !o.Failed("on")):
		o.Fail("at", "api.at_or_on", nil)
	}
	celsius := o.Number("temperature_c")
	t := o.Inner("temperature")
	switch {
	case t != nil && o.Fields["temperature_c"] != nil:
		o.Fail("temperature", "api.one_temperature", nil)
	case t != nil:
		c, entered, unit := readMeasure(t)
		x.Value, x.Entered, x.Unit = float64(c.V), entered, string(unit)
	case celsius.OK:
		x.Value, x.Entered = celsius.V, form.JSONText(o.Fields["temperature_c"])
	case !o.Failed("temperature_c"):
		o.Fail("temperature_c", "api.missing", nil)
	}
	o.End()
	return x
}

package web

import (
	"bytes"
	"crypto/sha256"
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

	"reddside/internal/ingest"
	"reddside/internal/logbook"
	"reddside/internal/store"
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
func (s *Server) apiReadings(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	season, err := s.seasonOf(r)
	if err != nil {
		return err
	}
	q := readQuery(r)
	sensor, name := q.text("sensor"), q.text("file_name")
	answers := readAnswers(q)
	if err := q.done(); err != nil {
		return err
	}
	data, err := io.ReadAll(r.Body)
	if err != nil {
		return err
	}
	today := s.today(season.Site, v.now)
	var plan ReadingsPlan
	var saved store.Import
	if isJSONBody(r, data) {
		rows, err := readingsFromJSON(data)
		if err != nil {
			return err
		}
		plan = PlanReadings(season, ingest.Result{Readings: rows}, today)
		saved, err = s.storeSensor(r, season, sensor, data, plan)
		if err != nil {
			return err
		}
	} else {
		res, err := readingsFromFile(data, answers, season.Site.Location())
		if err != nil {
			return err
		}
		plan = PlanReadings(season, res, today)
		saved, err = s.StoreReadings(r.Context(), v.actor, season, name, res, answers, plan, v.now)
		if err != nil {
			return err
		}
	}
	out := readingsOut{ImportID: saved.ID, Added: saved.Added, Known: saved.Known, Other: saved.Other, Suspect: plan.Suspect,
		Refused: []refusedOut{}, Flags: flagChangesJSON(r, saved.Changes)}
	for _, p := range plan.Refused {
		out.Refused = append(out.Refused, refusedOut{Line: p.Line, Message: v.p.T(p.Key, p.Args), Text: p.Text})
	}
	return writeJSON(w, http.StatusOK, out)
}

// storeSensor stores readings that came as a list.
func (s *Server) storeSensor(r *http.Request, season *logbook.Season, sensor string, data []byte, plan ReadingsPlan) (store.Import, error) {
	v := visitOf(r)
	after, err := s.FlagsAfter(r.Context(), season, v.now)
	if err != nil {
		return store.Import{}, err
	}
	sum := sha256.Sum256(data)
	in := store.Import{SeasonID: season.ID, Series: shorten(sensor), FileSHA256: hex.EncodeToString(sum[:]), Dialect: `{}`, Refused: plan.Refused}
	return s.db.SaveReadings(r.Context(), v.actor, in, plan.Keep, v.now, after)
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
func readAnswers(q *query) ingest.Answers {
	a := ingest.Answers{
		DateOrder: ingest.DateOrder(q.choice("date_order", "ymd", "dmy", "mdy")),
		Midnight:  q.choice("midnight", ingest.MidnightDaily, ingest.MidnightInstant),
		Decimal:   q.choice("decimal", ".", ","), Series: q.text("series"),
		Unit: q.choice("unit", ingest.UnitCel, ingest.UnitDegF), Zone: q.text("zone"),
	}
	if s := q.text("time_column"); s != "" {
		n, err := strconv.Atoi(s)
		if err != nil || n < 1 || n > ingest.MaxColumns {
			q.fail("time_column", "number.whole_between", logbook.Args{"Min": 1, "Max": ingest.MaxColumns})
		}
		a.TimeColumn = n
	}
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
			args[argOptions] = options
			list = append(list, logbook.Problem{Field: q.ID, Key: q.Key, Args: args})
		}
		return res, logbook.Refuse(list)
	case err != nil:
		return res, err
	case res.Series.Quantity != ingest.Temperature:
		return res, logbook.Refuse([]logbook.Problem{{Field: "series", Key: "import.not_temperature", Args: logbook.Args{"Name": res.Series.Label()}}})
	}
	return res, nil
}

// maxReadings bounds a list of readings, a reading each minute for a month; a
// local choice. The same readings again change nothing, so parts may overlap.
const maxReadings = 50_000

// readingsFromJSON reads [{at or on, temperature_c or temperature}], all or
// none, one at a time. Impossible values are kept and marked, like those of a
// file.
func readingsFromJSON(data []byte) ([]ingest.Reading, error) {
	p, err := newTreeParser(data)
	if err != nil {
		return nil, err
	}
	refuse := func(key string, args logbook.Args) error {
		return logbook.Refuse([]logbook.Problem{{Field: "body", Key: key, Args: args}})
	}
	if t, err := p.d.Token(); err != nil || t != json.Delim('[') {
		return nil, refuse("api.list", nil)
	}
	var problems []logbook.Problem
	var out []ingest.Reading
	for i := 0; p.d.More() && len(problems) <= maxNamed; i++ {
		if i == maxReadings {
			return nil, refuse("api.too_many", logbook.Args{"Max": maxReadings})
		}
		x, err := p.value(fmt.Sprintf("body[%d]", i), 1)
		if err != nil {
			return nil, notJSON(p.d.InputOffset())
		}
		if len(p.problems) > 0 {
			return nil, logbook.Refuse(p.problems)
		}
		out = append(out, readReadingJSON(newObject(x, fmt.Sprintf("[%d]", i), &problems), i+1))
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

func readReadingJSON(o *object, line int) ingest.Reading {
	x := ingest.Reading{Line: line, At: o.instant("at"), On: o.date("on"), Quality: ingest.Good, Unit: ingest.UnitCel}
	_, at := o.fields["at"]
	_, on := o.fields["on"]
	switch {
	case at == on:
		o.fail("at", "api.at_or_on", nil)
	case (at && x.At.IsZero() && !o.failed("at")) || (on && x.On.IsZero() && !o.failed("on")):
		o.fail("at", "api.at_or_on", nil)
	}
	celsius := o.number("temperature_c")
	t := o.inner("temperature")
	switch {
	case t != nil && o.fields["temperature_c"] != nil:
		o.fail("temperature", "api.one_temperature", nil)
	case t != nil:
		c, entered, unit := readMeasure(t)
		x.Value, x.Entered, x.Unit = float64(c.V), entered, string(unit)
	case celsius.OK:
		x.Value, x.Entered = celsius.V, jsonText(o.fields["temperature_c"])
	case !o.failed("temperature_c"):
		o.fail("temperature_c", "api.missing", nil)
	}
	o.end()
	return x
}

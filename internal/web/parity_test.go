package web

import (
	"encoding/csv"
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/PuerkitoBio/goquery"

	"reddside/internal/ingest"
	"reddside/internal/logbook"
	"reddside/internal/store"
)

// ways are two servers with the same logbook: what a person sends goes to one by its
// forms and to the other as JSON. Whatever comes of it must be the same.
type ways struct{ form, json fullServer }

// entryWays is how one kind of entry is sent. Values are told by names of fields.
type entryWays[T any] struct {
	kind   string
	fields []logbook.Field[T]
	path   string // of all of them, at the season and by themselves
	of     func(*logbook.Season) []T
	id     func(*T) logbook.ID
	entry  func(*T) logbook.Entry
}

// body is what a program sends for values; a number that is none is sent as a text.
func (k entryWays[T]) body(t *testing.T, values map[string]string, more map[string]any) string {
	t.Helper()
	out := maps.Clone(more)
	if out == nil {
		out = map[string]any{}
	}
	for _, f := range logbook.Asked(k.fields) {
		s, sent := values[f.Name]
		if !sent {
			continue
		}
		var v any = s
		if n, err := strconv.ParseFloat(s, 64); err == nil && !f.IsText() && f.Type != logbook.OfDay {
			v = n
		}
		switch {
		case s == "" && !f.IsText():
			v = nil
		case f.Type == logbook.OfNumbers:
			var list []any
			for _, w := range strings.Fields(s) {
				n, err := strconv.ParseFloat(w, 64)
				if err != nil {
					t.Fatal(err)
				}
				list = append(list, n)
			}
			v = list
		case f.Type == logbook.OfTemperature:
			v = map[string]any{"value": v, "unit": "Cel"}
		}
		outer, rest, inner := strings.Cut(f.JSONName(), ".")
		if !inner {
			out[outer] = v
			continue
		}
		if out[outer] == nil {
			out[outer] = map[string]any{}
		}
		out[outer].(map[string]any)[rest] = v
	}
	b, err := json.Marshal(out)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

// refusals are the problems of an answer: field and message.
func (k entryWays[T]) refusals(t *testing.T, form, answer page) (byForm, byJSON []string) {
	t.Helper()
	form.doc(t).Find("#summary a").Each(func(_ int, a *goquery.Selection) {
		field := strings.TrimPrefix(a.AttrOr("href", ""), "#")
		for i := range k.fields {
			if f := &k.fields[i]; f.Question() == field {
				field = f.JSONName()
			}
		}
		_, text, _ := strings.Cut(a.Text(), ": ")
		byForm = append(byForm, field+": "+text)
	})
	if answer.Status == 422 {
		for _, e := range answer.field(t, "errors").([]any) {
			e := e.(map[string]any)
			byJSON = append(byJSON, fmt.Sprint(e["field"], ": ", e["message"]))
		}
	}
	slices.Sort(byForm)
	slices.Sort(byJSON)
	return byForm, byJSON
}

// stored writes all entries of a kind and the open flags, without ids and times.
func (k entryWays[T]) stored(s fullServer) string {
	season := s.load(s.one)
	var out []string
	rows := k.of(season)
	for i := range rows {
		line := ""
		for j := range k.fields {
			if f := &k.fields[j]; f.Name != "event_id" {
				line += f.Name + "=" + f.Plain(&rows[i]) + " "
			}
		}
		e := k.entry(&rows[i])
		out = append(out, line+fmt.Sprint(e.By, e.ByLabel, e.Revision, e.Reason, e.Voided))
	}
	slices.Sort(out)
	return strings.Join(append(out, s.storedFlags(s.one)...), "\n")
}

// same compares two answers and what is stored after them. Where spelling is wrong
// the two ways have their own words for it: only the fields are compared.
func (k entryWays[T]) same(t *testing.T, w ways, what string, form, answer page, spelling bool) (refused bool) {
	t.Helper()
	refused = answer.Status == 422
	if taken := answer.Status < 300; taken != (form.Status == 303) || refused != (form.Status == 422) {
		t.Errorf("%s, %s: form %d, JSON %d\n%.300s\n%.300s", k.kind, what, form.Status, answer.Status,
			plainText(form.Body), answer.Body)
	}
	byForm, byJSON := k.refusals(t, form, answer)
	if strings.Contains(what, "reason") { // the form offers a list of reasons, with a field for other words
		spelling = true
		for i := range byForm {
			byForm[i] = strings.Replace(byForm[i], "reason_text:", "reason:", 1)
		}
	}
	if spelling {
		for _, list := range [][]string{byForm, byJSON} {
			for i := range list {
				list[i], _, _ = strings.Cut(list[i], ":")
				list[i] = strings.TrimSuffix(list[i], ".value")
			}
		}
	}
	if !slices.Equal(byForm, byJSON) {
		t.Errorf("%s, %s:\nform %q\nJSON %q", k.kind, what, byForm, byJSON)
	}
	if a, b := k.stored(w.form), k.stored(w.json); a != b {
		t.Fatalf("%s, %s: stored by the form\n%s\nand by JSON\n%s", k.kind, what, a, b)
	}
	return refused
}

// create sends a new entry both ways.
func (k entryWays[T]) create(t *testing.T, w ways, what string, values map[string]string,
	spelling bool) (refused bool) {
	t.Helper()
	f := fields()
	for _, x := range logbook.Asked(k.fields) {
		if v, ok := values[x.Name]; ok {
			f.Set(x.Question(), v)
		}
	}
	f.Set("thermal_units_in", "Cel")
	form := w.form.as(w.form.coordinator).post(seasonPath(w.form.one, k.path), f)
	answer := w.json.program(w.json.coordinator).post(seasonPath(w.json.one, k.path), k.body(t, values, nil))
	return k.same(t, w, what, form, answer, spelling)
}

// newest is the id of the entry that was stored last.
func (k entryWays[T]) newest(s fullServer, before []logbook.ID) logbook.ID {
	rows := k.of(s.load(s.one))
	for i := range rows {
		if id := k.id(&rows[i]); !slices.Contains(before, id) {
			return id
		}
	}
	return ""
}

func (k entryWays[T]) idsOf(s fullServer) (out []logbook.ID) {
	rows := k.of(s.load(s.one))
	for i := range rows {
		out = append(out, k.id(&rows[i]))
	}
	return out
}

// correct sends a correction both ways, of the ids given.
func (k entryWays[T]) correct(t *testing.T, w ways, what string, ids [2]logbook.ID, revision int,
	values map[string]string, reason string, spelling bool) {
	t.Helper()
	path := "/" + k.path + "/" + string(ids[0])
	b := w.form.as(w.form.coordinator)
	f := b.get(path+"/correct").want(t, 200).typedIn(t, path+"/correct")
	f.Set("revision", strconv.Itoa(revision))
	f.Set("reason", "")
	f.Set("reason_text", reason)
	if reason != "" {
		f.Set("reason", "misread")
	}
	more := map[string]any{}
	if reason != "" {
		more["reason"] = "misread: " + reason
	}
	for _, x := range logbook.Asked(k.fields) {
		if v, ok := values[x.Name]; ok {
			f.Set(x.Question(), v)
		}
	}
	form := b.post(path+"/correct", f)
	answer := w.json.program(w.json.coordinator).with("If-Match", fmt.Sprintf("%q", strconv.Itoa(revision))).
		send("PATCH", "/"+k.path+"/"+string(ids[1]), k.body(t, values, more))
	k.same(t, w, what, form, answer, spelling)
}

// wrong are values of a field that are refused, by what is wrong with them.
func wrong[T any](f *logbook.Field[T]) (list map[string]string, spelling map[string]string) {
	list, spelling = map[string]string{}, map[string]string{}
	switch f.Type {
	case logbook.OfText, logbook.OfNote:
		if f.Most > 0 {
			list["too long"] = strings.Repeat("x", f.Most+1)
		}
	case logbook.OfClock:
		list["no time"] = "25:99"
	case logbook.OfChoice:
		list["no choice"] = "nonsense"
	case logbook.OfDay:
		list["ahead"], spelling["no day"] = "2027-01-01", "2026-02-30"
	case logbook.OfNumbers:
		list["too much"] = "100000"
	default:
		spelling["no number"] = "seven"
		if f.Max > 0 {
			list["above"] = strconv.FormatFloat(f.Max+1, 'f', -1, 64)
		}
		if f.Max > 0 && f.Type != logbook.OfWhole {
			list["below"] = strconv.FormatFloat(f.Min-1, 'f', -1, 64)
		}
	}
	return list, spelling
}

// run sends one entry in all its wrong forms and then rightly, corrects it and takes
// it back, each both ways.
func (k entryWays[T]) run(t *testing.T, w ways, valid map[string]string, change map[string]string) {
	t.Helper()
	with := func(name, v string) map[string]string {
		out := maps.Clone(valid)
		out[name] = v
		return out
	}
	asked := slices.DeleteFunc(logbook.Asked(k.fields), func(f logbook.Field[T]) bool {
		_, sent := valid[f.Name]
		return !sent
	})
	for i := range asked {
		f := &asked[i]
		list, spelling := wrong(f)
		if f.Name == "kind" { // the form asks for one of the kinds, before anything else
			list = nil
		}
		for what, v := range list {
			if !k.create(t, w, f.Name+" "+what, with(f.Name, v), false) {
				t.Errorf("%s: %s %s is taken", k.kind, f.Name, what)
			}
		}
		for what, v := range spelling {
			if !k.create(t, w, f.Name+" "+what, with(f.Name, v), true) {
				t.Errorf("%s: %s %s is taken", k.kind, f.Name, what)
			}
		}
		if f.Must && f.Type != logbook.OfChoice {
			k.create(t, w, "without "+f.Name, with(f.Name, ""), false)
		}
	}
	before := [2][]logbook.ID{k.idsOf(w.form), k.idsOf(w.json)}
	if k.create(t, w, "valid", valid, false) {
		t.Fatalf("%s: a valid one is refused", k.kind)
	}
	ids := [2]logbook.ID{k.newest(w.form, before[0]), k.newest(w.json, before[1])}
	if ids[0] == "" || ids[1] == "" {
		t.Fatalf("%s: nothing is stored", k.kind)
	}
	k.back(t, w, ids, valid)
	k.change(t, w, ids, change)
	k.void(t, w, ids)
}

// back compares every field as it was sent with the stored row, JSON, the form of a
// correction, and the export.
func (k entryWays[T]) back(t *testing.T, w ways, ids [2]logbook.ID, sent map[string]string) {
	t.Helper()
	path := "/" + k.path + "/" + string(ids[0])
	b := w.form.as(w.form.coordinator)
	typed := b.get(path+"/correct").want(t, 200).typedIn(t, path+"/correct")
	shown := w.json.program(w.json.coordinator).get("/"+k.path+"/"+string(ids[1])).want(t, 200)
	tables, _ := unzip(t, w.json.program(w.json.coordinator).get("/export").want(t, 200))
	exported := map[string]string{}
	for _, row := range tables[k.path] {
		if row["id"] == string(ids[1]) {
			exported = row
		}
	}
	for name, v := range sent {
		f := logbook.FieldOf(k.fields, name)
		if v == "" {
			continue
		}
		if got := typed.Get(f.Question()); got != v && !(name == "on" && got == "other" && typed.Get("on_other") == v) {
			t.Errorf("%s: the form of a correction has %q for %s, not %q", k.kind, got, name, v)
		}
		at := strings.Split(f.JSONName(), ".")
		if f.Type == logbook.OfTemperature {
			at = append(at, "value")
		}
		var steps []any
		for _, s := range at {
			steps = append(steps, s)
		}
		if got := fmt.Sprint(shown.field(t, steps...)); got != v {
			t.Errorf("%s: JSON has %q for %s, not %q", k.kind, got, name, v)
		}
		if got := exported[f.CSVName()]; got != v {
			t.Errorf("%s: the export has %q for %s, not %q", k.kind, got, name, v)
		}
	}
}

// change corrects an entry of revision 1, wrongly and rightly.
func (k entryWays[T]) change(t *testing.T, w ways, ids [2]logbook.ID, change map[string]string) {
	t.Helper()
	k.correct(t, w, "corrected without a reason", ids, 1, change, "", false)
	k.correct(t, w, "a reason too long", ids, 1, change, strings.Repeat("x", 3000), false)
	for name := range change {
		list, _ := wrong(logbook.FieldOf(k.fields, name))
		for what, v := range list {
			k.correct(t, w, "corrected, "+name+" "+what, ids, 1, map[string]string{name: v}, "looked again", false)
		}
	}
	k.correct(t, w, "corrected", ids, 1, change, "looked again", false)
}

// void takes back an entry of revision 2.
func (k entryWays[T]) void(t *testing.T, w ways, ids [2]logbook.ID) {
	t.Helper()
	for _, reason := range []string{"", "misread"} {
		path := "/" + k.path + "/" + string(ids[0]) + "/void"
		b := w.form.as(w.form.coordinator)
		f := b.get(path).want(t, 200).typedIn(t, path)
		f.Set("reason", reason)
		form := b.post(path, f)
		answer := w.json.program(w.json.coordinator).with("If-Match", `"2"`).
			send("DELETE", "/"+k.path+"/"+string(ids[1]), fmt.Sprintf(`{"reason":%q}`, reason))
		k.same(t, w, "void, the reason is "+strconv.Quote(reason), form, answer, false)
	}
}

// wholeCheck is a check that says something of everything.
var wholeCheck = map[string]string{"on": "2026-02-07", "slot": "morning", "time": "08:10", "temperature": "7.2",
	"chiller": "stopped",
	"filter":  "running", "air_pump": "not_checked", "dead_eggs": "2", "dead_alevins": "1", "dead_fry": "0",
	"dead_cause": "fungus",
	"stage":      "eyed_egg", "hatched": "none", "water": "cloudy", "fungus": "seen", "ph": "7.1", "tan_mg_l": "0.8",
	"nitrite_mg_l": "0.2",
	"nitrate_mg_l": "12", "oxygen_mg_l": "9.5", "chlorine_mg_l": "0.01", "alkalinity_mg_l": "45", "fed_g": "0.5",
	"note": "one looked pale", "observer": "Group 3"}

// TestFilesOfChecksKeepEveryField: a file with every column of the help is read into
// the check that the form makes of the same values; the log of the tank writes them
// again.
func TestFilesOfChecksKeepEveryField(t *testing.T) {
	ts := newTestServer(t)
	columns := ingest.CheckColumns()
	var cells []string
	for _, name := range columns {
		cells = append(cells, wholeCheck[name])
		if _, known := wholeCheck[name]; !known && name != "temperature_unit" {
			t.Errorf("the whole check says nothing of %s", name)
		}
	}
	for _, f := range logbook.Asked(logbook.CheckFields()) {
		if !slices.Contains(columns, f.Name) {
			t.Errorf("the help of the import lacks %s", f.Name)
		}
	}
	ts.as(ts.keeper).get(seasonPath(ts.one, "import")).want(t, 200, strings.Join(columns, ", "))
	rows, problems, err := ingest.ReadChecks([]byte(strings.Join(columns, ",") + "\n" + strings.Join(cells, ",") +
		"\n"))
	if err != nil || len(problems) > 0 || len(rows) != 1 {
		t.Fatalf("%d rows, %v, %v", len(rows), problems, err)
	}
	c := rows[0].Check
	for _, f := range logbook.Asked(logbook.CheckFields()) {
		if got := f.Plain(&c); got != wholeCheck[f.Name] {
			t.Errorf("%s is read as %q, not %q", f.Name, got, wholeCheck[f.Name])
		}
	}
	c.SeasonID = ts.one.ID
	_, err = ts.DB.SaveCheck(t.Context(), ts.keeper, c, testNow, store.Write{})
	ts.must(err)
	log, err := csv.NewReader(strings.NewReader(strings.TrimPrefix(ts.as(ts.keeper).get(seasonPath(ts.one,
		"log.csv")).want(t, 200).Body, "\ufeff"))).ReadAll()
	ts.must(err)
	for name, v := range wholeCheck {
		column := map[string]string{"on": "date", "slot": "entry", "temperature": "temperature_c"}[name]
		if column == "" {
			column = name
		}
		i := slices.Index(log[0], column)
		if i < 0 || !slices.ContainsFunc(log[1:], func(r []string) bool { return r[i] == v }) {
			t.Errorf("the log has no %q in %s", v, column)
		}
	}
}

// TestFormsAndJSONAgree: every kind of entry, valid and not, created, corrected and
// taken back, is stored as the same row with the same flags, or is refused for the
// same fields with the same words, by form and by JSON.
func TestFormsAndJSONAgree(t *testing.T) {
	w := ways{newFullServer(t), newFullServer(t)}

	entryWays[logbook.Check]{kind: "check", fields: logbook.CheckFields(), path: "checks",
		of:    func(s *logbook.Season) []logbook.Check { return append(s.Checks, s.Voided...) },
		id:    func(c *logbook.Check) logbook.ID { return c.ID },
		entry: func(c *logbook.Check) logbook.Entry { return c.Entry }}.
		run(t, w, wholeCheck, map[string]string{"ph": "6.9", "note": "two looked pale"})

	event := entryWays[logbook.Event]{fields: logbook.EventFields(), path: "events",
		of:    func(s *logbook.Season) []logbook.Event { return s.Events },
		id:    func(e *logbook.Event) logbook.ID { return e.ID },
		entry: func(e *logbook.Event) logbook.Entry { return e.Entry }}
	for kind, values := range map[logbook.EventKind]map[string]string{
		logbook.WaterChange:    {"litres": "40"},
		logbook.FilterRinse:    {},
		logbook.SetpointChange: {"setpoint": "8"},
		logbook.BasketOpened:   {},
		logbook.FirstFeed:      {"mean_g": "0.2"},
		logbook.MovedOut:       {"count": "5", "place": "Tank 9", "mean_g": "0.2"},
		logbook.PowerCut:       {"hours": "2"},
		logbook.Treatment: {"product": "salt", "purpose": "fungus", "dose": "3", "dose_unit": "g_l", "minutes": "10",
			"allowed_by": "the coordinator", "days_before_release": "7"},
		logbook.Counted: {"count": "150", "mean_g": "0.2"},
	} {
		event.kind = "event " + string(kind)
		values["kind"], values["on"], values["time"], values["note"], values["observer"] = string(kind), "2026-02-06",
			"09:30", "as planned", "Group 2"
		event.run(t, w, values, map[string]string{"note": "not as planned", "time": "09:45"})
	}

	entryWays[logbook.Sample]{kind: "sample", fields: logbook.SampleFields(), path: "samples",
		of:    func(s *logbook.Season) []logbook.Sample { return s.Samples },
		id:    func(m *logbook.Sample) logbook.ID { return m.ID },
		entry: func(m *logbook.Sample) logbook.Entry { return m.Entry }}.
		run(t, w, map[string]string{"on": "2026-02-09", "count": "10", "total_g": "1.7", "lost": "1", "weights_g": "",
			"note":     "calm",
			"observer": "Group 1"}, map[string]string{"lost": "0", "note": "very calm"})

	entryWays[logbook.Delivery]{kind: "delivery", fields: logbook.DeliveryFields(), path: "deliveries",
		of:    func(s *logbook.Season) []logbook.Delivery { return s.Deliveries },
		id:    func(d *logbook.Delivery) logbook.ID { return d.ID },
		entry: func(d *logbook.Delivery) logbook.Entry { return d.Entry }}.
		run(t, w, map[string]string{"on": "2026-01-25", "count": "50", "method": "by_volume", "thermal_units": "330",
			"mean_temperature":  "6.2",
			"development_index": "0.6", "pack_temperature": "5", "stage": "eyed_egg", "note": "in a cool box"},
			map[string]string{"count": "48", "note": "counted again"})

	// The record of a release is written step by step; its correction has both ways.
	release := entryWays[logbook.ReleaseRecord]{kind: "release", fields: logbook.ReleaseFields(), path: "releases",
		of:    func(s *logbook.Season) []logbook.ReleaseRecord { return s.Releases },
		id:    func(r *logbook.ReleaseRecord) logbook.ID { return r.ID },
		entry: func(r *logbook.ReleaseRecord) logbook.Entry { return r.Entry }}
	ids := [2]logbook.ID{logbook.ID(w.form.ids["releaseID"]), logbook.ID(w.json.ids["releaseID"])}
	release.change(t, w, ids, map[string]string{"water_body": "Other River", "latitude": "45.25", "longitude": "-63.5",
		"purpose":    "stocking",
		"life_stage": "fry", "mean_length_mm": "33", "size_method": "ruler", "transport": "two buckets",
		"left_at": "09:00", "arrived_at": "09:40",
		"container_l": "20", "oxygen_supply": "air", "water_source": "the tank", "tank_c": "9", "bucket_c": "10",
		"stream_c":        "8",
		"tempering_steps": "4", "tempering_minutes": "40", "health_statement": "no", "health_note": "none asked"})
}

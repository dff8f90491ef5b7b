package web

import (
	"encoding/json"
	"maps"
	"strings"
	"testing"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/units"
)

// leavingCase is one thing that a release departs from. The permit of the cases allows
// 50 Atlantic salmon of 0.2 to 1 g and 20 to 40 mm, in February, into Invented River.
type leavingCase struct {
	code   string
	permit func(*logbook.Permit)
	values map[string]string // of the release, by the names of questions
	set    func(*testServer)
	record bool // told by the record of the release
}

var leavingCases = []leavingCase{
	{code: "early", permit: func(p *logbook.Permit) { p.From = civil.MustParse("2026-02-11") }},
	{code: "late", permit: func(p *logbook.Permit) { p.To = civil.MustParse("2026-02-09") }},
	{code: "permit", values: map[string]string{"permit": "P-77"}},
	{code: "water", values: map[string]string{"place": "Other River"}},
	{code: "number", permit: func(p *logbook.Permit) { p.MostFish = units.Some(4) }},
	{code: "weight", values: map[string]string{"mean_g": "1.5"}},
	{code: "species", permit: func(p *logbook.Permit) { p.Species = "brown_trout" }},
	{code: "flag", set: func(ts *testServer) {
		_, err := ts.DB.UpdateFlags(ts.t.Context(), ts.keeper, ts.one.ID, testNow,
			func(*logbook.Season, []store.Flag) ([]store.FlagChange, error) {
				return []store.FlagChange{{Op: store.Raise, Rule: "fungus", Subject: "eggs", Kind: "act",
					On: civil.MustParse("2026-02-09")}}, nil
			})
		ts.must(err)
	}},
	{code: "treatment", set: func(ts *testServer) {
		_, err := ts.DB.CreateEvent(ts.t.Context(), ts.keeper, logbook.Event{SeasonID: ts.one.ID,
			Kind: logbook.Treatment, On: civil.MustParse("2026-02-01"),
			Treated: logbook.Treated{Product: "sea salt", DaysBeforeRelease: units.Some(10)}}, testNow, store.Write{})
		ts.must(err)
	}},
	{code: "water", record: true, values: map[string]string{"water_body": "Other River", "place": "old bridge"}},
	{code: "length", record: true, values: map[string]string{"mean_mm": "41"}},
	{code: "stream_too_warm", record: true, values: map[string]string{"stream": "19"}},
	{code: "stream_too_cold", record: true, values: map[string]string{"stream": "3"}},
	{code: "stream_no_oxygen", record: true, values: map[string]string{"stream_oxygen": "4"}},
	{code: "stream_bad_ph", record: true, values: map[string]string{"stream_ph": "5.5"}},
}

// leavingServer is a server with the permit of a case, and what the release says.
func leavingServer(t *testing.T, c leavingCase) (*testServer, map[string]string) {
	t.Helper()
	ts := newTestServer(t)
	p := logbook.Permit{Number: "P-9", Waters: "Invented River", Species: "atlantic_salmon",
		From: civil.MustParse("2026-02-01"), To: civil.MustParse("2026-02-28"), MostFish: units.Some(50),
		LeastG: units.Some[units.Grams](0.2), MostG: units.Some[units.Grams](1),
		LeastMM: units.Some[units.Millimetres](20), MostMM: units.Some[units.Millimetres](40)}
	if c.permit != nil {
		c.permit(&p)
	}
	p, err := ts.DB.CreatePermit(t.Context(), ts.coordinator, p, testNow, store.IdempotencyKey{})
	ts.must(err)
	ts.must(ts.DB.AttachPermit(t.Context(), ts.coordinator, p.ID, []logbook.ID{ts.one.ID}, testNow))
	if c.set != nil {
		c.set(ts)
	}
	values := map[string]string{"on": testDay, "count": "5", "place": "Invented River, old bridge", "permit": "P-9",
		"mean_g": "0.5"}
	maps.Copy(values, c.values)
	return ts, values
}

// departed holds what is stored and printed of the release against a case.
func departed(t *testing.T, ts *testServer, c leavingCase) {
	t.Helper()
	s := ts.load(ts.one)
	var codes, why []string
	for _, e := range s.Events {
		codes, why = append(codes, e.Deviations), append(why, e.DeviationWhy)
	}
	for _, r := range s.Releases {
		codes, why = append(codes, r.Deviations), append(why, r.DeviationWhy)
	}
	if strings.Join(strings.Fields(strings.Join(codes, " ")), " ") != c.code ||
		!strings.Contains(strings.Join(why, ""), "the office said yes") {
		t.Errorf("stored deviations %q, reasons %q", codes, why)
	}
	ts.as(ts.keeper).get(seasonPath(ts.one, "report")).want(t, 200, "Deviation: ", "Reason: the office said yes")
}

func flat(values map[string]string, names map[string]string, more ...string) []string {
	for k, v := range values {
		if to := names[k]; to != "" {
			more = append(more, to, v)
		}
	}
	return more
}

func same(names ...string) map[string]string {
	out := map[string]string{}
	for _, n := range names {
		out[n] = n
	}
	return out
}

var (
	eventAsked  = same("on", "count", "place", "permit", "mean_g")
	recordAsked = same("water_body", "mean_mm", "stream", "stream_oxygen", "stream_ph")
	recordJSON  = map[string]string{"water_body": "water_body", "mean_mm": "mean_length_mm", "stream": "stream_c",
		"stream_oxygen": "stream_oxygen_mg_l", "stream_ph": "stream_ph"}
)

// Whatever a release departs from is shown, and is stored with a reason only: by the
// plain form, by JSON and step by step alike.
func TestEveryDeviationIsAskedEverywhere(t *testing.T) {
	for _, c := range leavingCases {
		name := c.code
		if c.record {
			name += " of the record"
		}
		t.Run(name+"/form", func(t *testing.T) { leaveByForm(t, c) })
		t.Run(name+"/json", func(t *testing.T) { leaveByJSON(t, c) })
		t.Run(name+"/wizard", func(t *testing.T) { leaveBySteps(t, c) })
	}
}

// leaveByForm sends the plain form of the event; a record is corrected by its form.
func leaveByForm(t *testing.T, c leavingCase) {
	ts, values := leavingServer(t, c)
	b := ts.as(ts.keeper)
	if c.record {
		e, err := ts.DB.CreateEvent(t.Context(), ts.keeper, logbook.Event{SeasonID: ts.one.ID, Kind: logbook.Released,
			On: civil.MustParse(testDay), Count: units.Some(5)}, testNow, store.Write{})
		ts.must(err)
		r, err := ts.DB.CreateRelease(t.Context(), ts.keeper, logbook.ReleaseRecord{SeasonID: ts.one.ID,
			EventID: e.Row.ID}, testNow, store.Write{})
		ts.must(err)
		path := "/releases/" + string(r.Row.ID) + "/correct"
		f := b.get(path).want(t, 200).hidden()
		for k, v := range values {
			if recordAsked[k] != "" {
				f.Set(k, v)
			}
		}
		f.Set("reason", "misread")
		b.post(path, f).want(t, 422, `href="#deviation_why"`)
		f.Set("deviation_why", "the office said yes")
		b.post(path, f).want(t, 303)
		departed(t, ts, c)
		return
	}
	path := seasonPath(ts.one, "events")
	sent := flat(values, eventAsked, "kind", "release")
	b.post(path, fields(sent...)).want(t, 422, `href="#deviation_why"`)
	b.post(path, fields(append(sent, "deviation_why", "the office said yes")...)).want(t, 303)
	departed(t, ts, c)
}

func leaveByJSON(t *testing.T, c leavingCase) {
	ts, values := leavingServer(t, c)
	p := ts.program(ts.keeper)
	path := "/seasons/" + string(ts.one.ID)
	send := func(path string, names map[string]string, more ...string) page {
		body := map[string]any{}
		pairs := flat(values, names, more...)
		for i := 0; i < len(pairs); i += 2 {
			body[pairs[i]] = pairs[i+1]
			var n json.Number
			if json.Unmarshal([]byte(pairs[i+1]), &n) == nil {
				body[pairs[i]] = n
			}
		}
		b, err := json.Marshal(body)
		ts.must(err)
		return p.post(path, string(b))
	}
	asked := map[string]string{"on": "on", "count": "count", "place": "place", "permit": "permit",
		"mean_g": "mean_weight_g"}
	if !c.record {
		send(path+"/events", asked, "kind", "release").wantProblem(t, 422, "deviation_why", "release.deviation."+c.code)
		send(path+"/events", asked, "kind", "release", "deviation_why", "the office said yes").want(t, 201)
		departed(t, ts, c)
		return
	}
	values["place"] = ""
	event := send(path+"/events", asked, "kind", "release").want(t, 201).str(t, "event", "id")
	send(path+"/releases", recordJSON, "event_id", event).wantProblem(t, 422, "deviation_why",
		"release.deviation."+c.code)
	send(path+"/releases", recordJSON, "event_id", event, "deviation_why", "the office said yes").want(t, 201)
	departed(t, ts, c)
}

func leaveBySteps(t *testing.T, c leavingCase) {
	ts, values := leavingServer(t, c)
	b, path := ts.as(ts.keeper), seasonPath(ts.one, "release")
	b.get(path+"?step=permit").want(t, 200, `value="P-9"`) // that of the tank's permit
	b.step(t, path, "permit", flat(values, same("permit", "place", "water_body"))...).want(t, 303)
	b.step(t, path, "count", "count", values["count"]).want(t, 303)
	b.step(t, path, "second", "second", values["count"]).want(t, 303)
	b.step(t, path, "size", flat(values, same("mean_g", "mean_mm"))...).want(t, 303)
	b.step(t, path, "stream", flat(values, same("on", "stream", "stream_oxygen", "stream_ph"))...).want(t, 303)
	b.step(t, path, "finish").want(t, 422, `href="#deviation_why"`)
	if n := len(ts.load(ts.one).Releases); n != 0 {
		t.Fatalf("%d releases stored without a reason", n)
	}
	b.step(t, path, "finish", "deviation_why", "the office said yes").want(t, 303)
	departed(t, ts, c)
}

// A release that departs from nothing is asked nothing, and one person may count alone
// with a reason.
func TestReleaseWithinThePermitIsAskedNothing(t *testing.T) {
	ts, _ := leavingServer(t, leavingCase{})
	b, path := ts.as(ts.keeper), seasonPath(ts.one, "release")
	place, err := ts.DB.CreateReleasePlace(t.Context(), ts.coordinator, logbook.ReleasePlace{Name: "Weir",
		Water: "Invented River", Coordinates: "45°30.50'N 063°15.0'W"}, testNow, store.IdempotencyKey{})
	ts.must(err)
	b.step(t, path, "permit", "permit", "P-9", "listed_place", string(place.ID), "latitude", "45.508333", "longitude",
		"-63.25").want(t, 303)
	b.step(t, path, "count", "count", "20").want(t, 303)
	b.step(t, path, "finish").want(t, 422, "A second person has not counted yet")
	b.step(t, path, "second", "reason_single", "alone at the stream").want(t, 303)
	b.step(t, path, "stream", "stream", "10", "on", testDay).want(t, 303)
	b.step(t, path, "finish").want(t, 303)
	s := ts.load(ts.one)
	if r, e := s.Releases[0], s.Events[0]; r.ReasonSingle == "" || r.WaterBody != "Invented River" || r.Deviations != "" {
		t.Errorf("record %+v of %+v", r, e)
	}
	b.get(seasonPath(ts.one, "report")).want(t, 200, "45°30.50&#39;N 063°15.0&#39;W", "45.508333").
		lacks(t, "Deviation: ")
}

// Released tanks leave the calendar; fry are told of their release, and what is gone
// of nothing more.
func TestReleasedTanksLeaveTheCalendar(t *testing.T) {
	ts := newTestServer(t)
	s := *ts.load(ts.one)
	s.ReleaseFrom, s.ReleaseBy = civil.MustParse("2026-06-01"), civil.MustParse("2026-06-20")
	_, err := ts.DB.UpdateSeason(t.Context(), ts.keeper, s, testNow)
	ts.must(err)
	check := logbook.Check{SeasonID: ts.one.ID, On: civil.MustParse(testDay), Slot: logbook.Morning, Stage: logbook.Fry,
		Temperature: units.Some[units.Celsius](7), TemperatureEntered: "7", TemperatureUnit: units.Cel}
	_, err = ts.DB.SaveCheck(t.Context(), ts.keeper, check, testNow, store.Write{})
	ts.must(err)
	boss, keeper, tank := ts.as(ts.coordinator), ts.as(ts.keeper), `>`+ts.tank1.Name+`</a>`
	calendar := "/sites/" + string(ts.alder.ID) + "/calendar"
	boss.get("/programme/calendar").want(t, 200, tank)
	keeper.get(calendar).want(t, 200, ts.tank1.Name+": ")
	keeper.get(pathOf(ts.one)).want(t, 200, "20 June 2026 at the latest")
	_, err = ts.DB.CreateEvent(t.Context(), ts.keeper, logbook.Event{SeasonID: ts.one.ID, Kind: logbook.Released,
		On: civil.MustParse(testDay), Count: units.Some(200)}, testNow, store.Write{})
	ts.must(err)
	boss.get("/programme/calendar").want(t, 200).lacks(t, tank)
	keeper.get(calendar).want(t, 200).lacks(t, ts.tank1.Name+": ")
	keeper.get(pathOf(ts.one)).want(t, 200, "All fish of this tank were released").lacks(t, "at the latest")
}

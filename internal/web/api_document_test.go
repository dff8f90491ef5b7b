package web

import (
	"encoding/json"
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"github.com/go-chi/chi/v5"

	"reddside/internal/api"
	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/units"
	"reddside/internal/web/school"
)

var noActor = logbook.Actor{}

func exampleText(v any) string { return strings.TrimSpace(fmt.Sprint(v)) }

// walkRoutes calls fn for every route of the program, "*" left out.
func walkRoutes(t *testing.T, s *Server, fn func(method, path string)) {
	t.Helper()
	router, ok := s.Handler.(chi.Routes)
	if !ok {
		t.Fatal("the routes cannot be walked")
	}
	err := chi.Walk(router, func(method, route string, _ http.Handler, _ ...func(http.Handler) http.Handler) error {
		fn(method, route)
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}

// The description names every route, and no other.
func TestDocumentMatchesRoutes(t *testing.T) {
	ts := newTestServer(t)
	said := map[string]bool{}
	ids := map[string]bool{}
	for _, op := range api.Operations() {
		said[strings.ToUpper(op.Method)+" /api/v1"+op.Path] = true
		if ids[op.ID()] {
			t.Errorf("operation id %s stands twice", op.ID())
		}
		ids[op.ID()] = true
	}
	routed := map[string]bool{}
	walkRoutes(t, ts.Server, func(method, path string) {
		if strings.HasPrefix(path, "/api/v1/") {
			routed[method+" "+path] = true
			if !said[method+" "+path] {
				t.Errorf("not described: %s %s", method, path)
			}
		}
	})
	for r := range said {
		if !routed[r] {
			t.Errorf("described, but there is no such route: %s", r)
		}
	}
}

// fullServer has something behind every address of the examples.
type fullServer struct {
	*testServer
	ids map[string]string
}

func newFullServer(t *testing.T) fullServer {
	ts := newTestServer(t)
	ctx := t.Context()
	tank, err := ts.DB.CreateTank(ctx, ts.coordinator, logbook.Tank{SiteID: ts.alder.ID, Name: "Spare", Volume: 100,
		Wall: logbook.BareGlass}, testNow, store.IdempotencyKey{})
	ts.must(err)
	check, err := ts.DB.SaveCheck(ctx, ts.keeper, logbook.Check{SeasonID: ts.one.ID, On: civil.MustParse("2026-02-09"),
		Slot:        logbook.Morning,
		Temperature: units.Some[units.Celsius](7), TemperatureEntered: "7", TemperatureUnit: units.Cel,
		Stage: logbook.EyedEgg}, testNow, store.Write{})
	ts.must(err)
	event, err := ts.DB.CreateEvent(ctx, ts.keeper, logbook.Event{SeasonID: ts.one.ID, Kind: logbook.WaterChange,
		On:     civil.MustParse("2026-02-08"),
		Litres: units.Some[units.Litres](20)}, testNow, store.Write{})
	ts.must(err)
	on := civil.MustParse("2026-02-08")
	var released [2]logbook.ID
	for i := range released {
		e, err := ts.DB.CreateEvent(ctx, ts.keeper, logbook.Event{SeasonID: ts.one.ID, Kind: logbook.Released, On: on,
			Count: units.Some(1 + i), Note: "few"}, testNow, store.Write{})
		ts.must(err)
		released[i] = e.Row.ID
	}
	release, err := ts.DB.CreateRelease(ctx, ts.keeper, logbook.ReleaseRecord{SeasonID: ts.one.ID, EventID: released[0],
		WaterBody: "Invented River",
		Latitude:  units.Some(45.5), MeanMM: units.Some[units.Millimetres](31), Oxygen: logbook.AirStone,
		Health: logbook.HealthYes}, testNow, store.Write{})
	ts.must(err)
	sample, err := ts.DB.CreateSample(ctx, ts.keeper, logbook.Sample{SeasonID: ts.one.ID,
		On: civil.MustParse("2026-02-08"), Count: 10, Total: 1.6}, testNow, store.Write{})
	ts.must(err)
	guess, err := ts.DB.CreateGuess(ctx, ts.class, logbook.Guess{SeasonID: ts.one.ID, Group: "Group 1",
		On:     civil.MustParse("2026-02-20"),
		MadeOn: civil.MustParse("2026-02-10")}, testNow, store.Write{})
	ts.must(err)
	_, err = ts.DB.UsePlan(ctx, ts.keeper, logbook.Plan{SeasonID: ts.one.ID, MadeOn: civil.MustParse("2026-02-09"),
		Goal: logbook.GoalSwimUp,
		By:   civil.MustParse("2026-04-20"), SwimUpOn: civil.MustParse("2026-04-19"),
		Steps:   []logbook.PlanStep{{On: civil.MustParse("2026-02-10"), Setpoint: 8}},
		Targets: []logbook.PlanTarget{{Temperature: 7, Index: 0.8}, {Temperature: 8, Index: 0.815}}}, "", testNow,
		store.Write{})
	ts.must(err)
	_, err = ts.DB.UpdateFlags(ctx, ts.keeper, ts.one.ID, testNow,
		func(*logbook.Season, []store.Flag) ([]store.FlagChange, error) {
			return []store.FlagChange{{Op: store.Raise, Rule: "fungus", Subject: "eggs", Kind: "watch",
				On: civil.MustParse("2026-02-09")}}, nil
		})
	ts.must(err)
	flags, err := ts.DB.Flags(ctx, ts.one.ID, false)
	ts.must(err)
	device, err := ts.DB.InviteDevice(ctx, ts.keeper, store.Device{SiteID: ts.alder.ID, Label: "Room 12 tablet",
		ExpiresAt: testNow.AddDate(0, 5, 0)},
		store.HashToken("WAITING2"), testNow.Add(school.PairCodeLifetime), testNow)
	ts.must(err)
	permit, err := ts.DB.CreatePermit(ctx, ts.coordinator, logbook.Permit{Number: "P-1", Holder: "River office",
		MostFish: units.Some(900), LeastG: units.Some[units.Grams](0.2), MostG: units.Some[units.Grams](5)}, testNow,
		store.IdempotencyKey{})
	ts.must(err)
	place, err := ts.DB.CreateReleasePlace(ctx, ts.coordinator, logbook.ReleasePlace{Name: "Upper bridge",
		Water: "Invented River"}, testNow, store.IdempotencyKey{})
	ts.must(err)
	return fullServer{ts, map[string]string{"permitID": string(permit.ID), "placeID": string(place.ID), "deviceID": string(device.ID), "flagID": string(flags[0].ID),
		"key": "temperature_act_high", "guessID": string(guess.Row.ID), "siteID": string(ts.alder.ID),
		"tankID": string(ts.tank1.ID), "lotID": string(ts.lot.ID),
		"seasonID": string(ts.one.ID), "checkID": string(check.Row.ID), "eventID": string(event.Row.ID),
		"releaseID": string(release.Row.ID), "barereleaseID": string(released[1]),
		"sampleID":   string(sample.Row.ID),
		"deliveryID": string(ts.one.Deliveries[0].ID), "freeTankID": string(tank.ID)}}
}

// fill puts ids into an address or a body.
func (f fullServer) fill(s string) string {
	for name, id := range f.ids {
		s = strings.ReplaceAll(s, "{"+name+"}", id)
	}
	return s
}

// Every example of the description is sent to a server: it is taken, and its
// answer has the shape that the description promises.
func TestDocumentExamples(t *testing.T) {
	raw := newTestServer(t).program(noActor).get("/openapi.json").want(t, 200)
	var doc map[string]any
	if err := json.Unmarshal([]byte(raw.Body), &doc); err != nil {
		t.Fatal(err)
	}
	schemas := doc["components"].(map[string]any)["schemas"].(map[string]any)
	shared := newFullServer(t)
	for _, op := range api.Operations() {
		t.Run(op.ID(), func(t *testing.T) {
			f := shared
			if op.Match || op.Key {
				f = newFullServer(t) // what one example changes must not trouble the next
			}
			c := f.program(f.coordinator)
			if strings.Contains(op.Path, "{importID}") {
				f = newFullServer(t)
				c = f.program(f.coordinator)
				im, err := f.DB.SaveReadings(t.Context(), f.keeper,
					store.Import{SeasonID: f.one.ID, FileSHA256: store.HashToken("x"), Dialect: "{}"},
					[]logbook.Reading{{On: civil.MustParse("2026-02-08"), Temperature: 7, Quality: logbook.Good}},
					testNow, nil)
				f.must(err)
				f.ids["importID"] = string(im.ID)
			}
			if op.Match {
				tag := c.get(f.fill(op.Path)).want(t, 200).Header.Get("ETag")
				if tag == "" {
					t.Fatal("no ETag to send in If-Match")
				}
				c = c.with("If-Match", tag)
			}
			if op.Key {
				c = c.with("Idempotency-Key", "example-key")
			}
			q := url.Values{}
			for _, p := range op.Query {
				if p.Example != nil {
					q.Set(p.Name, exampleText(p.Example))
				}
			}
			path := f.fill(op.Path)
			if len(q) > 0 {
				path += "?" + q.Encode()
			}
			if op.Body != "" {
				var body any
				if err := json.Unmarshal([]byte(f.fill(op.Example)), &body); err != nil {
					t.Fatalf("example is no JSON: %v", err)
				}
				conforms(t, schemas, api.RefTo(op.Body), body, "body")
			}
			p := c.send(strings.ToUpper(op.Method), path, f.fill(op.Example)).want(t, op.Status)
			if op.Answer != "" {
				conforms(t, schemas, api.RefTo(op.Answer), p.field(t), "answer")
			}
			if op.Text != "" {
				c.with("Content-Type", "text/csv").send(strings.ToUpper(op.Method), path, op.Text).want(t, op.Status,
					`"added":2`)
			}
		})
	}
	p := newTestServer(t).program(noActor).get("/calc/ice").want(t, 422)
	conforms(t, schemas, api.RefTo("Problem"), p.field(t), "problem")
}

// conforms checks a value against the part of JSON Schema that the description
// uses; an unknown keyword fails, so that nothing is passed over.
func conforms(t *testing.T, schemas, schema map[string]any, v any, at string) {
	t.Helper()
	if msg := mismatch(schemas, schema, v, at); msg != "" {
		t.Error(msg)
	}
}

func mismatch(schemas, schema map[string]any, v any, at string) string {
	for key, rule := range schema {
		msg := ""
		switch key {
		case "$ref":
			name := strings.TrimPrefix(rule.(string), "#/components/schemas/")
			s, ok := schemas[name].(map[string]any)
			if !ok {
				return at + ": no schema " + name
			}
			msg = mismatch(schemas, s, v, at)
		case "type":
			if !hasType(rule, v) {
				msg = fmt.Sprintf("%s: %v is no %v", at, v, rule)
			}
		case "enum":
			found := false
			for _, w := range rule.([]any) {
				found = found || w == v
			}
			if !found {
				msg = fmt.Sprintf("%s: %v is none of %v", at, v, rule)
			}
		case "anyOf":
			msg = at + ": fits no alternative"
			for _, s := range rule.([]any) {
				if mismatch(schemas, s.(map[string]any), v, at) == "" {
					msg = ""
				}
			}
		case "items":
			list, _ := v.([]any)
			for i, x := range list {
				if msg = mismatch(schemas, rule.(map[string]any), x, fmt.Sprintf("%s[%d]", at, i)); msg != "" {
					break
				}
			}
		case "required":
			m, _ := v.(map[string]any)
			for _, name := range rule.([]any) {
				if _, ok := m[name.(string)]; !ok && m != nil {
					msg = fmt.Sprintf("%s: %s is missing", at, name)
				}
			}
		case "properties", "additionalProperties":
			msg = propertiesMismatch(schemas, schema, v, at)
		case "format":
			if s, ok := v.(string); ok && rule == "date" {
				if _, err := civil.Parse(s); err != nil {
					msg = fmt.Sprintf("%s: %q is no date", at, s)
				}
			}
		case "description", "maxItems":
		default:
			msg = "unknown keyword " + key
		}
		if msg != "" {
			return msg
		}
	}
	return ""
}

func propertiesMismatch(schemas, schema map[string]any, v any, at string) string {
	m, ok := v.(map[string]any)
	if !ok {
		return ""
	}
	props, _ := schema["properties"].(map[string]any)
	for name, x := range m {
		s, known := props[name].(map[string]any)
		if !known {
			if schema["additionalProperties"] == false {
				return fmt.Sprintf("%s: %s is not described", at, name)
			}
			continue
		}
		if msg := mismatch(schemas, s, x, at+"."+name); msg != "" {
			return msg
		}
	}
	return ""
}

func hasType(rule, v any) bool {
	if list, ok := rule.([]any); ok {
		for _, r := range list {
			if hasType(r, v) {
				return true
			}
		}
		return false
	}
	switch x := v.(type) {
	case nil:
		return rule == "null"
	case bool:
		return rule == "boolean"
	case string:
		return rule == "string"
	case float64:
		return rule == "number" || (rule == "integer" && x == float64(int64(x)))
	case []any:
		return rule == "array"
	}
	return rule == "object"
}

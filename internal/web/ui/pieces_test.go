package ui

import (
	"context"
	"math"
	"strings"
	"testing"

	"github.com/PuerkitoBio/goquery"
	"github.com/a-h/templ"

	"reddside/internal/assess"
	"reddside/internal/civil"
	"reddside/internal/forecast"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/rules"
	"reddside/internal/units"
)

func printer(t *testing.T, lang string) *i18n.Printer {
	t.Helper()
	c, err := i18n.Load()
	if err != nil {
		t.Fatal(err)
	}
	return c.Printer(lang, units.Cel)
}

func draw(t *testing.T, c templ.Component) (string, *goquery.Document) {
	t.Helper()
	var b strings.Builder
	if err := c.Render(context.Background(), &b); err != nil {
		t.Fatal(err)
	}
	doc, err := goquery.NewDocumentFromReader(strings.NewReader(b.String()))
	if err != nil {
		t.Fatal(err)
	}
	return b.String(), doc
}

// Every status and every kind has a word and a shape of its own: none is told
// by colour alone.
func TestTagsDifferInWordAndShape(t *testing.T) {
	p := Page{P: printer(t, "en")}
	check := func(tags map[string]templ.Component) {
		seen := map[string]string{}
		for name, c := range tags {
			_, doc := draw(t, c)
			word := strings.TrimSpace(doc.Find(".status span").Text())
			shape, err := doc.Find("svg").Html()
			if err != nil || word == "" || shape == "" {
				t.Fatalf("%s has no word or no shape", name)
			}
			for _, what := range []string{"word " + word, "shape " + shape} {
				if other, twice := seen[what]; twice {
					t.Errorf("%s and %s share the %s", name, other, what)
				}
				seen[what] = name
			}
			if doc.Find("a, button").Length() > 0 {
				t.Errorf("%s can be clicked", name)
			}
		}
	}
	statuses, kinds := map[string]templ.Component{}, map[string]templ.Component{}
	for _, s := range []rules.Status{rules.StatusAct, rules.StatusWatch, rules.StatusNoCheck, rules.StatusDue,
		rules.StatusFine} {
		statuses[string(s)] = StatusTag(p, s)
	}
	for _, k := range rules.Kinds() {
		kinds[string(k)] = KindTag(p, k)
	}
	check(statuses)
	check(kinds)
}

// steady is a forecast at a constant rate: index 0.01 a day from fertilisation on
// 1 November, delivered after 40 days, so that half have hatched after 100 days.
func steady() (assess.RulerSeason, *forecast.Result) {
	fert := civil.MustParse("2025-11-01")
	r := &forecast.Result{StartOn: fert.AddDays(40), Today: fert.AddDays(80), StartIndex: 0.4, Index: 0.8}
	for d := 40; d <= 180; d++ {
		r.Days = append(r.Days, forecast.Day{On: fert.AddDays(d), Index: float64(d) / 100})
	}
	w := func(e forecast.Event, day, half int) forecast.Window {
		return forecast.Window{Event: e, P10: fert.AddDays(day - half), P50: fert.AddDays(day),
			P90: fert.AddDays(day + half)}
	}
	r.Eyed, r.Hatch, r.SwimUp = w(forecast.Eyed, 50, 2), w(forecast.Hatch, 100, 4), w(forecast.SwimUp, 165, 8)
	return assess.RulerSeason{FertilisedOn: fert, ReleaseFrom: fert.AddDays(175), ReleaseBy: fert.AddDays(190)}, r
}

func TestRulerPlacesFollowTheIndex(t *testing.T) {
	s, r := steady()
	pl := assess.PlaceRuler(s, r)
	near := func(what string, got, want float64) {
		t.Helper()
		if math.Abs(got-want) > 1e-9 {
			t.Errorf("%s at %v, want %v", what, got, want)
		}
	}
	// The index itself over the length of the scale, 2.1.
	near("start", pl.Start.X, 0.4/2.1)
	near("today", pl.Today.X, 0.8/2.1)
	near("eyed", pl.Marks[0].X, 0.5/2.1)
	near("hatch", pl.Marks[1].X, 1/2.1)
	near("hatch window from", pl.Marks[1].Window.From.X, 0.96/2.1)
	near("hatch window to", pl.Marks[1].Window.To.X, 1.04/2.1)
	near("release from", pl.Release.From.X, 1.75/2.1)
	near("release to, after the last day", pl.Release.To.X, 1.90/2.1)
	if pl.Months[0].On != civil.MustParse("2025-12-01") {
		t.Fatalf("first month is %v", pl.Months[0].On)
	}
	near("1 December, between fertilisation and delivery", pl.Months[0].X, 0.3/2.1)
}

// A lot that needs longer than the model says: the marks stay, and today lies
// before the mark of what has not come yet.
func TestRulerOfASlowLot(t *testing.T) {
	s, r := steady()
	fert := s.FertilisedOn
	r.Today, r.Index = fert.AddDays(105), 1.05
	r.Hatch.P10, r.Hatch.P50, r.Hatch.P90 = fert.AddDays(106), fert.AddDays(110), fert.AddDays(116)
	pl := assess.PlaceRuler(s, r)
	if today, hatch := pl.Today.X, pl.Marks[1].X; today >= hatch || hatch != 1/2.1 {
		t.Errorf("today at %v, hatch at %v", today, hatch)
	}
	if w := pl.Marks[1].Window; w.From.X > pl.Marks[1].X || w.To.X < pl.Marks[1].X {
		t.Errorf("the mark %v lies outside its window %v", pl.Marks[1].X, w)
	}
}

func TestRulerStates(t *testing.T) {
	s, r := steady()
	r.Eyed = forecast.Window{Event: forecast.Eyed, BeforeStart: true}
	r.StartIndex = 0.6
	for i := range r.Days {
		r.Days[i].Index += 0.2
	}
	seen := s.FertilisedOn.AddDays(78)
	r.Hatch.Observed = forecast.Interval{After: seen.AddDays(-2), OnOrBefore: seen}
	r.Hatch.P10, r.Hatch.P50, r.Hatch.P90 = seen.AddDays(-1), seen, seen
	r.SwimUp = forecast.Window{Event: forecast.SwimUp, Never: true}
	for _, lang := range []string{"en", "fr"} {
		p := printer(t, lang)
		ru := NewRuler(p, assess.PlaceRuler(s, r))
		for i, key := range []string{"ruler.before", "ruler.seen", "ruler.never"} {
			want := p.T(key, map[string]any{"On": p.DateShort(seen)})
			if got := ru.when(&ru.Places.Marks[i]); got != want {
				t.Errorf("%s: mark %d says %q, want %q", lang, i, got, want)
			}
		}
		_, doc := draw(t, RulerFull(ru, "r"))
		if n := doc.Find("svg.wide .mark.seen").Length(); n != 1 {
			t.Errorf("%s: %d seen marks", lang, n)
		}
		if n := doc.Find("svg.wide .window").Length(); n != 0 {
			t.Errorf("%s: %d windows ahead", lang, n)
		}
		doc.Find("svg").Each(func(_ int, svg *goquery.Selection) {
			if svg.AttrOr("role", "") != "img" || svg.Find("title").Text() == "" ||
				!strings.Contains(svg.Find("desc").Text(), p.DayMonth(seen)) {
				t.Errorf("%s: a drawing without its words", lang)
			}
		})
	}
}

func TestRulerWithoutForecast(t *testing.T) {
	r := &forecast.Result{Reason: "tank.none_yet"}
	ru := NewRuler(printer(t, "en"), assess.PlaceRuler(assess.RulerSeason{}, r))
	html, doc := draw(t, RulerCompact(ru))
	if doc.Find("svg").Length() != 0 || ru.Missing == "" || !strings.Contains(html, ru.Missing) {
		t.Errorf("no words instead of the ruler: %s", html)
	}
}

// The ruler of a board row stays small: at most 1.5 kB.
func TestCompactRulerIsSmall(t *testing.T) {
	s, r := steady()
	for _, lang := range []string{"en", "fr"} {
		html, doc := draw(t, RulerCompact(NewRuler(printer(t, lang), assess.PlaceRuler(s, r))))
		if len(html) > 1536 {
			t.Errorf("%s: %d bytes", lang, len(html))
		}
		if doc.Find("title").Text() == "" {
			t.Errorf("%s: no sentence", lang)
		}
	}
}

func day(n int, v units.Optional[units.Celsius]) rules.DayTemperature {
	return rules.DayTemperature{On: civil.MustParse("2026-02-01").AddDays(n), Value: v}
}

func TestSparklinesShareOneScaleAndKeepGaps(t *testing.T) {
	p := printer(t, "en")
	none, some := units.None[units.Celsius](), units.Some[units.Celsius]
	cool := []rules.DayTemperature{day(0, some(6)), day(1, some(6.2)), day(2, none), day(3, some(6.1))}
	warm := []rules.DayTemperature{day(0, some(11)), day(1, some(11)), day(2, some(11)), day(3, some(11.6))}
	scale := NewSparkScale([][]rules.DayTemperature{cool, warm}, some(10))
	if scale != (SparkScale{6, 12}) {
		t.Fatalf("scale %v", scale)
	}
	a, b := NewSparkline(p, cool, scale, some(10)), NewSparkline(p, warm, scale, some(10))
	if a.Limit == "" || a.Limit != b.Limit {
		t.Errorf("limit lines at %q and %q", a.Limit, b.Limit)
	}
	if len(a.Lines) != 1 || len(a.Dots) != 1 {
		t.Errorf("a gap must break the line: %d lines, %d single dots", len(a.Lines), len(a.Dots))
	}
	if len(b.Lines) != 1 || len(b.Dots) != 0 {
		t.Errorf("no gap: %d lines, %d single dots", len(b.Lines), len(b.Dots))
	}
	if want := "6.0 to 6.2\u00a0°C"; a.Range != want {
		t.Errorf("range %q, want %q", a.Range, want)
	}
	if e := NewSparkline(p, []rules.DayTemperature{day(0, none)}, scale, none); e.Range != "" || e.Title == "" ||
		e.Last != nil {
		t.Errorf("no data: %+v", e)
	}
}

func TestFlagCardSaysWhatToDo(t *testing.T) {
	f := rules.Flag{Kind: rules.Act, Headline: rules.Message{Key: "number.not"}, Why: rules.Message{Key: "date.not"},
		Do: []rules.Message{{Key: "name.empty"}, {Key: "choice.empty"}}, Class: rules.Message{Key: "choice.unknown"},
		Who: logbook.Keeper, Within: rules.Message{Key: "check.time"}, Since: civil.MustParse("2026-02-08")}
	p := Page{P: printer(t, "en"), Role: logbook.Keeper}
	_, doc := draw(t, FlagCard(p, f))
	if doc.Find("ol li").Length() != 2 || !strings.Contains(doc.Find(".terms").Text(), "8 February 2026") {
		t.Error("what to do or since when is missing")
	}
	if !strings.Contains(doc.Find("details").Text(), p.T("flag.local")) {
		t.Error("a local choice is not named as one")
	}
	if doc.Find(".for-class").Length() != 0 {
		t.Error("a keeper reads the pupils' text")
	}
	p.Role = logbook.Class
	_, doc = draw(t, FlagCard(p, f))
	if doc.Find(".for-class").Text() != p.T("choice.unknown") || doc.Find("details ol li").Length() != 2 ||
		doc.Find("details").Length() != 1 {
		t.Error("pupils do not read their own text first")
	}
}

package web

import (
	"maps"
	"net/url"
	"strings"
	"testing"

	"github.com/PuerkitoBio/goquery"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/store"
)

// Two people change the same row (requirement O6): the second sees what the first
// has stored, keeps every word, and saving again takes it.
func TestSomebodyChangedItMeanwhile(t *testing.T) {
	ts := newTestServer(t)
	ctx := t.Context()
	day := civil.MustParse("2026-03-02")
	cover, err := ts.DB.CreateCover(ctx, ts.coordinator, logbook.Cover{SiteID: ts.alder.ID, From: day, To: day,
		Who: "Group A"}, testNow, store.IdempotencyKey{})
	ts.must(err)
	closed, err := ts.DB.CreateClosedSpan(ctx, ts.coordinator, ts.alder.ID, logbook.ClosedSpan{From: day, To: day,
		Reason: "Snow"}, testNow, store.IdempotencyKey{})
	ts.must(err)
	site := "/sites/" + string(ts.alder.ID)
	tank := ts.load(ts.one).Tank
	for _, c := range []struct {
		path          string
		first, second []string
		want          []string
	}{
		{site + "/cover/" + string(cover.ID) + "/correct", []string{"who", "Group B"}, []string{"who", "Group C"},
			[]string{"Somebody has just changed this to: Group B."}},
		{site + "/closed-days/" + string(closed.ID) + "/correct", []string{"reason", "Storm"},
			[]string{"reason", "Ice"}, []string{"to: Storm."}},
		{site + "/edit", []string{"weekends", "looked_at"}, []string{"name", "Aldermoss Elementary"},
			[]string{"Somebody has just changed this to: "}},
		{"/tanks/" + string(tank.ID) + "/edit", []string{"has_air_pump", "yes"}, []string{"name", "Big tank"},
			[]string{"ticked this"}},
		{"/lots/" + string(ts.lot.ID) + "/edit", []string{"supplier", "Upper hatchery"},
			[]string{"supplier", "Lower hatchery"}, []string{"to: Upper hatchery."}},
		{seasonPath(ts.one, "edit"), []string{"release_by", "2026-06-20"}, []string{"release_by", "2026-06-25"},
			[]string{"to: 2026-06-20."}},
		{"/deliveries/" + string(ts.load(ts.one).Deliveries[0].ID) + "/correct", []string{"note", "from the van"},
			[]string{"note", "by train"}, []string{"to: from the van."}},
		{site + "/duty", []string{"who_2", "Group D"}, []string{"who_2", "Group E"}, []string{"to: Group D."}},
	} {
		boss, keeper := ts.as(ts.coordinator), ts.as(ts.coordinator)
		fill := func(b *browser, change []string) url.Values {
			f := formValues(t, b.get(c.path).want(t, 200))
			for _, name := range []string{"why", "reason_text"} {
				if _, ok := f[name]; ok {
					f[name] = []string{"counted again"}
				}
			}
			if _, ok := f["reason"]; ok && strings.HasPrefix(c.path, "/deliveries") {
				f["reason"] = []string{"other"}
			}
			f[change[0]] = []string{change[1]}
			return f
		}
		one, two := fill(boss, c.first), fill(keeper, c.second)
		boss.post(c.path, one).want(t, 303)
		p := keeper.post(c.path, two).want(t, 409, append(c.want, "Somebody changed this in the meantime")...).lacks(t,
			"[form", "[site", "[tank", "[lot", "[season", "[duty", "<no value>")
		again := formValues(t, p)
		if got := again[c.second[0]]; len(got) != 1 || got[0] != c.second[1] {
			t.Errorf("%s: %s is %q after the refusal, want %q", c.path, c.second[0], got, c.second[1])
		}
		keeper.post(c.path, again).want(t, 303)
		if got := formValues(t, keeper.get(c.path).want(t, 200))[c.second[0]]; len(got) != 1 || got[0] != c.second[1] {
			t.Errorf("%s: %s is %q at the end, want %q", c.path, c.second[0], got, c.second[1])
		}
	}
}

// formValues are the values of the form of a page as a browser would send them.
func formValues(t testing.TB, p page) url.Values {
	t.Helper()
	v := url.Values{}
	form := p.doc(t).Find("main form").First()
	form.Find("input, textarea, select").Each(func(_ int, el *goquery.Selection) {
		name, _ := el.Attr("name")
		_, checked := el.Attr("checked")
		kind, _ := el.Attr("type")
		switch {
		case name == "" || (kind == "radio" || kind == "checkbox") && !checked:
		case goquery.NodeName(el) == "textarea":
			v.Add(name, el.Text())
		case goquery.NodeName(el) == "select":
			v.Add(name, el.Find("option[selected]").AttrOr("value", ""))
		default:
			v.Add(name, el.AttrOr("value", ""))
		}
	})
	return v
}

// Who corrects a sample or a kit that somebody else has changed sees both: what is
// stored now beside each field that differs, and what was typed still in it.
func TestStaleEntriesShowBoth(t *testing.T) {
	f := newFullServer(t)
	b := f.as(f.keeper)
	path := "/samples/" + f.ids["sampleID"] + "/correct"
	old := b.get(path).want(t, 200).typedIn(t, path)
	old.Set("reason", "misread")
	first, second := maps.Clone(old), maps.Clone(old)
	first.Set("total_g", "1.7")
	b.post(path, first).want(t, 303)
	second.Set("total_g", "1.8")
	b.post(path, second).want(t, 409, "Somebody changed this in the meantime", "changed this to: 1.7",
		`value="1.8"`).lacks(t, "[sample", "[form", "Day: Somebody")

	kit := "/sites/" + string(f.alder.ID) + "/kit"
	empty := b.get(kit).want(t, 200).typedIn(t, kit)
	first, second = maps.Clone(empty), maps.Clone(empty)
	first.Set("name", "Kit A")
	first.Set("basis", "NH3")
	b.post(kit, first).want(t, 303)
	second.Set("name", "Kit B")
	second.Set("basis", "NH3")
	second.Set("reason", "another kit")
	b.post(kit, second).want(t, 409, "Somebody changed this in the meantime", "changed this to: Kit A",
		`value="Kit B"`).lacks(t, "[kit", "[form")
}

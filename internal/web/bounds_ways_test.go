package web

import (
	"encoding/json"
	"strings"
	"testing"
)

// A text of 80,000 characters, and a year that cannot be, are refused by form, JSON,
// round and file alike; nothing of them is stored.
func TestLongTextsAndYearsByEveryWay(t *testing.T) {
	f := newFullServer(t)
	long := strings.Repeat("x", 80_000)
	count := func() int {
		return f.sqlCount(`SELECT coalesce((SELECT sum(revision) FROM checks), 0) + coalesce((SELECT sum(revision) FROM event), 0)
			+ (SELECT count(*) FROM lot) + (SELECT sum(revision) FROM delivery) + (SELECT sum(edits) FROM season) + (SELECT count(*) FROM sample)
			+ (SELECT sum(revision) FROM guess) + (SELECT sum(revision) FROM release_record)`)
	}
	before := count()
	b, c := f.as(f.coordinator), f.program(f.coordinator)
	season := "/seasons/" + string(f.two.ID)

	released := "/events/" + string(f.load(f.one).Releases[0].EventID) + "/correct"

	// Forms: a problem names the field.
	for _, x := range []struct{ path, action, field, value string }{
		{season + "/checks/new", season + "/checks", "observer", long},
		{season + "/checks/new", season + "/checks", "note", long},
		{season + "/events/new?kind=filter_rinse", season + "/events", "note", long},
		{season + "/samples/new", season + "/samples", "observer", long},
		{season + "/guess", season + "/guess", "group", long},
		{season + "/guess", season + "/guess", "on", "0026-02-20"},
		{season + "/edit", season + "/edit", "label", long},
		{season + "/edit", season + "/edit", "release_by", "9999-06-01"},
		{"/deliveries/" + f.ids["deliveryID"] + "/correct", "", "note", long},
		{"/deliveries/" + f.ids["deliveryID"] + "/correct", "", "on", "0026-01-20"},
		{"/releases/" + f.ids["releaseID"] + "/correct", "", "water_body", long},
		{released, "", "permit", long},
		{released, "", "place", long},
		{"/events/" + f.ids["eventID"] + "/correct", "", "observer", long},
		{"/guesses/" + f.ids["guessID"] + "/correct", "", "reason_text", long},
	} {
		action := x.action
		if action == "" {
			action = x.path
		}
		sent := b.get(x.path).want(t, 200).typedIn(t, action)
		sent.Set("reason", "misread")
		sent.Set(x.field, x.value)
		p := b.post(action, sent)
		if p.Status != 422 || p.doc(t).Find(`#summary a[href="#`+x.field+`"]`).Length() != 1 {
			t.Errorf("%s, %s: status %d: %.200s", action, x.field, p.Status, plainText(p.Body))
		}
	}

	// The round of a school.
	round := b.get("/sites/"+string(f.alder.ID)+"/round").want(t, 200).typedIn(t, "/sites/"+string(f.alder.ID)+"/round")
	if len(round) == 0 {
		t.Fatal("no form of the round")
	}
	round.Set("observer", long)
	for name := range round {
		if strings.HasSuffix(name, "temperature") {
			round.Set(name, "7")
		}
	}
	if p := b.post("/sites/"+string(f.alder.ID)+"/round", round); p.Status != 422 {
		t.Errorf("round: status %d", p.Status)
	}

	// JSON.
	quoted, _ := json.Marshal(long)
	for _, x := range []struct{ path, body, field string }{
		{season + "/checks", `{"on":"2026-02-09","temperature":{"value":7,"unit":"Cel"},"observer":LONG}`, "observer"},
		{season + "/checks", `{"on":"0026-02-09","temperature":{"value":7,"unit":"Cel"}}`, "on"},
		{season + "/events", `{"on":"2026-02-09","kind":"other","note":LONG}`, "note"},
		{season + "/events", `{"on":"2026-02-09","kind":"released","count":1,"place":LONG}`, "place"},
		{season + "/events", `{"on":"2026-02-09","kind":"released","count":1,"permit":LONG}`, "permit"},
		{season + "/samples", `{"on":"2026-02-09","count":5,"total_g":3,"note":LONG}`, "note"},
		{season + "/deliveries", `{"on":"2026-02-09","count":5,"method":"by_hand","note":LONG}`, "note"},
		{season + "/deliveries", `{"on":"0026-02-09","count":5,"method":"by_hand"}`, "on"},
		{"/lots", `{"code":"L9","species":"atlantic_salmon","note":LONG}`, "note"},
		{"/lots", `{"code":"L9","species":"atlantic_salmon","fertilised_on":"0025-11-01"}`, "fertilised_on"},
	} {
		if p := c.post(x.path, strings.Replace(x.body, "LONG", string(quoted), 1)); p.Status != 422 ||
			!strings.Contains(string(p.Body), `"`+x.field+`"`) {
			t.Errorf("JSON %s %s: status %d: %.200s", x.path, x.field, p.Status, p.Body)
		}
	}

	// A file of checks.
	for _, line := range []string{"2026-02-09,7," + long, "0026-02-08,7,Group 1"} {
		at := b.sendFile(f.two, "checks", "log.csv", []byte("on,temperature,observer\n"+line+"\n"))
		if at.Status == 303 {
			b.get(at.Location).want(t, 200, "To mend first").lacks(t, "Store 1 check")
			b.post(at.Location, fields("confirm", "yes")).want(t, 422)
		} else if at.Status != 422 {
			t.Errorf("import of %.20s: status %d", line, at.Status)
		}
	}
	if after := count(); after != before {
		t.Errorf("something was stored: %d, before %d", after, before)
	}
}

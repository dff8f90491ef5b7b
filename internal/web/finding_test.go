package web

import (
	"context"
	"testing"
	"time"

	"reddside/internal/assess"
	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/rules"
	"reddside/internal/store"
)

// What people find behind a flag is asked once it has been seen, kept with what
// was said before, and held against the rules in a replay.
func TestFindings(t *testing.T) {
	ts := newTestServer(t)
	keeper, class, birch, boss := ts.as(ts.keeper), ts.as(ts.class), ts.as(ts.birchKeeper), ts.as(ts.coordinator)
	class.post(seasonPath(ts.one, "checks"), plainCheck("chiller", "stopped")).want(t, 303)
	f := ts.flagOn(ts.one, "chiller")
	tank, path := "/seasons/"+string(ts.one.ID), "/flags/"+string(f.ID)+"/finding"

	if f.Kind != string(rules.Watch) {
		t.Fatalf("a stopped chiller is %s", f.Kind)
	}
	keeper.get(tank).lacks(t, path) // first somebody looks
	boss.get("/replay?run=yes&seasons=all").want(t, 200, "false ones are not counted")
	keeper.post("/flags/"+string(f.ID)+"/seen", nil).want(t, 303)
	keeper.get(tank).want(t, 200, path)
	keeper.get(path).want(t, 200, "What did you find?", "Something was wrong", "Nothing was wrong", "We could not tell")
	class.get(path).want(t, 403)
	birch.get(path).want(t, 404)
	birch.post(path, fields("finding", "real")).want(t, 404)
	keeper.post(path, fields("note", "plug was loose")).want(t, 422, "Choose an answer", "plug was loose")
	keeper.post(path, fields("finding", "sabotage")).want(t, 422, "one of the answers")
	long := make([]byte, logbook.MaxReason+1)
	for i := range long {
		long[i] = 'x'
	}
	keeper.post(path, fields("finding", "real", "note", string(long))).want(t, 422, "300")

	keeper.post(path, fields("finding", "real", "note", "plug was loose", "back", tank)).want(t, 303)
	keeper.get(tank).want(t, 200, "Something was wrong: plug was loose")
	keeper.get("/flags?state=all").want(t, 200, "plug was loose")
	boss.get("/flags/load").want(t, 200, "something was wrong 1")
	told := boss.get("/replay?run=yes&seasons=all").want(t, 200, "By what people found", "1 time something was wrong",
		"act told it 0 times, watch or act 1")
	told.lacks(t, "false ones are not counted")

	// Said again: the newest counts, the first stays readable.
	keeper.post(path, fields("finding", "nothing")).want(t, 303)
	keeper.get(tank).want(t, 200, "Nothing was wrong, says").lacks(t, "plug was loose")
	keeper.get(tank+"/flags").want(t, 200, "plug was loose", "Nothing was wrong")
	boss.get("/replay?run=yes&seasons=all").want(t, 200, "0 false act flags and 1 false watch flags",
		"0 times something was wrong")

	// What is expected cannot be right or wrong.
	list, err := ts.DB.Flags(context.Background(), ts.two.ID, true)
	ts.must(err)
	for _, k := range list {
		if k.Kind == "due" || k.Kind == "note" {
			boss.get("/flags/"+string(k.ID)+"/finding").want(t, 409)
		}
	}
}

func TestFindingsAsIncidents(t *testing.T) {
	on := civil.MustParse("2026-02-01")
	flags := []store.Flag{
		{ID: "real", Rule: "chiller_stopped", Kind: "act", RaisedOn: on, ClearedOn: on.AddDays(4),
			ClearedAt: time.Unix(1, 0)},
		{ID: "open", Rule: "dead_count", Kind: "act", RaisedOn: on},
		{ID: "none", Rule: "dead_count", Kind: "watch", RaisedOn: on, ClearedOn: on, ClearedAt: time.Unix(1, 0)},
		{ID: "unsure", Rule: "dead_count", Kind: "watch", RaisedOn: on},
		{ID: "unsaid", Rule: "dead_count", Kind: "watch", RaisedOn: on},
	}
	said := assess.NewestFindings([]store.FlagFinding{{FlagID: "real", What: store.FoundNothing},
		{FlagID: "real", What: store.FoundReal},
		{FlagID: "open", What: store.FoundReal}, {FlagID: "none", What: store.FoundNothing},
		{FlagID: "unsure", What: store.FoundUnsure}})
	wrong, well := said.JudgedBy(flags, on.AddDays(9))
	if len(wrong) != 2 || len(well) != 1 {
		t.Fatalf("%+v %+v", wrong, well)
	}
	if wrong[0].To != on.AddDays(3) || wrong[1].To != on.AddDays(9) || wrong[1].Family != rules.Deaths {
		t.Errorf("%+v", wrong)
	}
	if well[0].From != on || well[0].To != on || well[0].Rule != "dead_count" {
		t.Errorf("%+v", well)
	}
}

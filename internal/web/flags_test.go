package web

import (
	"context"
	"encoding/json"
	"testing"
	"time"

	"reddside/internal/assess"
	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/rules"
	"reddside/internal/store"
)

func TestFlagChanges(t *testing.T) {
	day := civil.MustParse(testDay)
	a := rules.Assessment{On: day, Flags: []rules.Flag{
		{Rule: "new", Subject: "water", Kind: rules.Act, Headline: rules.Message{Key: "k", Args: logbook.Args{"N": 3}},
			Since: day},
		{Rule: "kept", Kind: rules.Watch, Headline: rules.Message{Key: "k", Args: logbook.Args{"Days": 9}}},
		{Rule: "worse", Kind: rules.Act},
	}}
	open := []store.Flag{
		{Rule: "kept", Kind: "watch", Args: json.RawMessage(`{"args":{"Days":8}}`)},
		{Rule: "worse", Kind: "watch"},
		{Rule: "gone", Subject: "chiller", Kind: "act"},
	}
	got := assess.FlagChanges(a, open, nil, time.Time{})
	want := []store.FlagChange{
		{Op: store.Raise, Rule: "new", Subject: "water", Kind: "act", On: day},
		{Op: store.Raise, Rule: "worse", Kind: "act", On: day},
		{Op: store.Clear, Rule: "gone", Subject: "chiller", Kind: "act", On: day},
	}
	if len(got) != len(want) {
		t.Fatalf("got %+v", got)
	}
	for i := range want {
		args := got[i].Args
		if got[i].Op == store.Raise && !json.Valid(args) {
			t.Errorf("%s: arguments %q", got[i].Rule, args)
		}
		got[i].Args = nil
		if g := got[i]; g.Op != want[i].Op || g.Rule != want[i].Rule || g.Subject != want[i].Subject ||
			g.Kind != want[i].Kind || g.On != want[i].On {
			t.Errorf("got %+v, want %+v", g, want[i])
		}
	}
}

// A stopped chiller is flagged in the transaction of the check, shown on the
// page after saving in the words of the reader, and over with the next check.
func TestFlagsFollowTheCheck(t *testing.T) {
	ts := newTestServer(t)
	keeper, class := ts.as(ts.keeper), ts.as(ts.class)
	p := keeper.post(seasonPath(ts.one, "checks"), plainCheck("chiller", "stopped")).want(t, 303)
	open, err := ts.DB.Flags(context.Background(), ts.one.ID, false)
	ts.must(err)
	stopped := store.Flag{}
	for _, f := range open {
		if f.Subject == "chiller" {
			stopped = f
		}
	}
	if stopped.Rule == "" || !stopped.RaisedAt.Equal(testNow) {
		t.Fatalf("no flag for the chiller in %+v", open)
	}
	var name rules.Message
	for _, r := range rules.All() {
		if r.ID == stopped.Rule {
			name = r.Name
		}
	}
	a, err := ts.Assess.Assess(context.Background(), ts.load(ts.one), testNow)
	ts.must(err)
	said := rules.Flag{}
	for _, f := range a.Assessment.Flags {
		if f.Subject == "chiller" {
			said = f
		}
	}
	if string(said.Kind) != stopped.Kind || len(said.Do) == 0 || said.Class.Key == "" {
		t.Fatalf("stored %+v, said %+v", stopped, said)
	}
	kp := ts.Cat.Printer("en", "Cel")
	text := func(m rules.Message) string { return htmlText(kp.T(m.Key, m.Args)) }
	shown := keeper.get(p.Location).want(t, 200, "status "+stopped.Kind, text(said.Headline), text(said.Why),
		text(said.Do[0]))
	shown.lacks(t, text(said.Class))
	class.get(p.Location).want(t, 200, text(said.Class))

	ts.at(testNow.Add(2 * time.Hour))
	p = keeper.post(seasonPath(ts.one, "checks"), plainCheck("slot", "extra")).want(t, 303)
	keeper.get(p.Location).want(t, 200, text(name)+": solved")
	open, err = ts.DB.Flags(context.Background(), ts.one.ID, false)
	ts.must(err)
	for _, f := range open {
		if f.Subject == "chiller" {
			t.Errorf("still open: %+v", f)
		}
	}
	// A correction brings it back: the first check said stopped, and so does
	// the last one now.
	f := plainCheck("slot", "extra", "chiller", "stopped", "revision", "1", "reason", "misread")
	keeper.post(p.Location+"/correct", f).want(t, 303)
	open, err = ts.DB.Flags(context.Background(), ts.one.ID, false)
	ts.must(err)
	found := false
	for _, f := range open {
		found = found || f.Subject == "chiller"
	}
	if !found {
		t.Error("the corrected check raised nothing")
	}
}

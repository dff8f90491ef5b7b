package store

import (
	"encoding/json"
	"path/filepath"
	"testing"
	"time"

	"reddside/internal/civil"
	"reddside/internal/logbook"
)

// flagBook is a logbook whose flags are decided by the test.
type flagBook struct {
	planted
	t   *testing.T
	now time.Time
}

func newFlagBook(t *testing.T) *flagBook { return &flagBook{plant(t), t, noon} }

// say brings the flags of the season to what is said: kind by rule.
func (b *flagBook) say(on civil.Date, kinds map[string]string) {
	b.t.Helper()
	_, err := b.UpdateFlags(b.t.Context(), coordinator, b.season.ID, b.now,
		func(_ *logbook.Season, open []Flag) (out []FlagChange, err error) {
			for i := range open {
				if kinds[open[i].Rule] == "" {
					out = append(out, FlagChange{Op: Clear, Rule: open[i].Rule, On: on})
				}
			}
			for rule, kind := range kinds {
				out = append(out, FlagChange{Op: Raise, Rule: rule, Kind: kind, On: on,
					Args: json.RawMessage(`{"rule":"` + rule + `"}`)})
			}
			return out, nil
		})
	if err != nil {
		b.t.Fatal(err)
	}
}

// newest returns the flag of a rule that was raised last.
func (b *flagBook) newest(rule string) Flag {
	b.t.Helper()
	list, err := b.Flags(b.t.Context(), b.season.ID, true)
	if err != nil {
		b.t.Fatal(err)
	}
	for i := len(list) - 1; i >= 0; i-- {
		if list[i].Rule == rule {
			return list[i]
		}
	}
	b.t.Fatalf("no flag of %s", rule)
	return Flag{}
}

func (b *flagBook) must(f Flag, err error) Flag {
	b.t.Helper()
	if err != nil {
		b.t.Fatal(err)
	}
	return f
}

// Seen never ends a flag, an ended flag can still be seen, once, and everything
// is there after a restart.
func TestFlagSeenAfterItEndedAndAfterRestart(t *testing.T) {
	b, ctx := newFlagBook(t), t.Context()
	b.say(day, map[string]string{"warm": "act", "food": "due"})
	b.say(day.AddDays(1), nil)
	unseen, err := b.LiveFlags(ctx, []logbook.ID{b.season.ID})
	if err != nil || len(unseen[b.season.ID]) != 1 || unseen[b.season.ID][0].Rule != "warm" {
		t.Fatalf("ended unseen: %+v, %v; what was due needs no eyes", unseen, err)
	}
	dir := filepath.Dir(b.Path())
	if err := b.Close(); err != nil {
		t.Fatal(err)
	}
	b.DB = open(t, dir)
	id := b.newest("warm").ID
	keeper := logbook.Actor{Role: logbook.Keeper, SiteID: b.site.ID, Label: "Keeper"}
	f := b.must(b.SeeFlag(ctx, keeper, id, noon.Add(time.Hour)))
	if f.SeenBy != "Keeper" || f.Open() || f.ToSee() {
		t.Errorf("seen after it ended: %+v", f)
	}
	if f = b.must(b.SeeFlag(ctx, coordinator, id, noon.Add(2*time.Hour))); f.SeenBy != "Keeper" {
		t.Errorf("the second to see it replaced the first: %+v", f)
	}
	steps, err := b.FlagSteps(ctx, coordinator, b.season.ID, time.Time{})
	if err != nil {
		t.Fatal(err)
	}
	var said []string
	for _, s := range steps {
		if s.Rule == "warm" {
			said = append(said, s.Step+" "+string(s.Role))
		}
	}
	if len(said) != 3 || said[0] != "raised coordinator" || said[1] != "cleared coordinator" ||
		said[2] != "seen keeper" {
		t.Errorf("steps %q", said)
	}
	for _, sql := range []string{"UPDATE flag SET kind = 'note'",
		"UPDATE flag SET seen_at = 1, step = 'seen' WHERE rule = 'warm'",
		"UPDATE flag SET set_aside_until = '2030-01-01', seen_at = 5, step = 'seen' WHERE rule = 'food'",
		"UPDATE flag SET cleared_at = NULL"} {
		if b.raw(t, sql) == nil {
			t.Errorf("plain SQL changed an ended flag: %s", sql)
		}
	}
}

func TestFlagSetAside(t *testing.T) {
	b, ctx := newFlagBook(t), t.Context()
	b.say(day, map[string]string{"noisy": "watch", "once": "watch", "grows": "watch"})
	_, err := b.ShelveFlag(ctx, coordinator, b.newest("noisy").ID, Aside{Until: day, Reason: "  "}, noon)
	wantKey(t, err, logbook.Invalid, "error.entry")
	until := day.AddDays(5)
	for rule, once := range map[string]bool{"noisy": false, "once": true, "grows": false} {
		f := b.must(b.ShelveFlag(ctx, coordinator, b.newest(rule).ID,
			Aside{Until: until, Once: once, Reason: "part ordered"}, noon))
		if !f.ShelvedOn(until) || f.ShelvedOn(until.AddDays(1)) || f.ToSee() {
			t.Errorf("%s set aside: %+v", rule, f)
		}
	}
	// Both come back the next day: the one set aside to a day stays at rest.
	b.say(day.AddDays(1), map[string]string{"grows": "act"})
	b.say(day.AddDays(2), map[string]string{"noisy": "watch", "once": "watch", "grows": "act"})
	if f := b.newest("noisy"); !f.ShelvedOn(until) || f.ShelveReason != "part ordered" || f.ToSee() {
		t.Errorf("came back within its time: %+v", f)
	}
	if f := b.newest("once"); f.ShelvedOn(until) || !f.ToSee() {
		t.Errorf("set aside until it clears, and it cleared: %+v", f)
	}
	if f := b.newest("grows"); f.ShelvedOn(day.AddDays(2)) || !f.ToSee() || f.ShelveReason != "" {
		t.Errorf("a watch set aside became an act: %+v", f)
	}
	// Seen as act: going down and up again is no news.
	b.must(b.SeeFlag(ctx, coordinator, b.newest("grows").ID, noon))
	b.say(day.AddDays(3), map[string]string{"noisy": "act", "grows": "watch"})
	b.say(day.AddDays(4), map[string]string{"grows": "act"})
	if f := b.newest("grows"); f.ToSee() {
		t.Errorf("seen as act, and asked again: %+v", f)
	}
	if f := b.newest("noisy"); f.ShelvedUntil.IsZero() == false && f.ShelvedOn(day.AddDays(3)) {
		t.Errorf("worse than what was set aside: %+v", f)
	}
	f := b.must(b.ShelveFlag(ctx, coordinator, b.newest("grows").ID, Aside{Until: until, Reason: "known"}, noon))
	if f = b.must(b.UnshelveFlag(ctx, coordinator, f.ID, noon)); f.ShelvedOn(day) || f.ToSee() || !f.Open() {
		t.Errorf("ended early: %+v", f)
	}
	other := logbook.Actor{Role: logbook.Keeper, SiteID: "elsewhere", Label: "Keeper"}
	_, err = b.UnshelveFlag(ctx, other, f.ID, noon)
	wantKey(t, err, logbook.NotFound, "error.not_found")
}

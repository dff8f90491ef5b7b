package store

import (
	"encoding/json"
	"errors"
	"fmt"
	"sync"
	"testing"
	"time"

	"reddside/internal/logbook"
	"reddside/internal/units"
)

// raiseForEach raises a flag for each check that has none: a rule simple enough
// to count.
func raiseForEach(s *logbook.Season, open []Flag) ([]FlagChange, error) {
	have := map[string]bool{}
	for _, f := range open {
		have[f.Subject] = true
	}
	var out []FlagChange
	for _, c := range s.Checks {
		if !have[string(c.ID)] {
			out = append(out, FlagChange{Op: Raise, Rule: "test", Subject: string(c.ID), Kind: "watch", On: c.On})
		}
	}
	return out, nil
}

func (p *planted) count(t testing.TB, query string, args ...any) (n int) {
	t.Helper()
	if err := p.reader.QueryRowContext(t.Context(), query, args...).Scan(&n); err != nil {
		t.Fatal(err)
	}
	return n
}

func TestSameSlot(t *testing.T) {
	p, ctx := plant(t), t.Context()
	first, err := p.SaveCheck(ctx, coordinator, p.check(day), noon, Write{})
	if err != nil {
		t.Fatal(err)
	}
	again, err := p.SaveCheck(ctx, coordinator, p.check(day), noon.Add(time.Minute), Write{})
	if err != nil || !again.Repeated || again.Row.ID != first.Row.ID || again.Row.Entry != first.Row.Entry {
		t.Errorf("the same check again: %+v, %v", again, err)
	}
	other := p.check(day)
	other.DeadEggs = units.None[int]() // not counted is not zero
	_, err = p.SaveCheck(ctx, coordinator, other, noon, Write{})
	wantKey(t, err, logbook.Conflict, "error.check.exists")
	var cur *Current[logbook.Check]
	if !errors.As(err, &cur) || cur.Row.ID != first.Row.ID || cur.Row.SeasonID != p.season.ID {
		t.Errorf("the stored check is not in the error: %v", err)
	}
	if n := p.count(t, "SELECT count(*) FROM checks"); n != 1 {
		t.Errorf("%d rows", n)
	}
}

func TestKeys(t *testing.T) {
	p, ctx := plant(t), t.Context()
	once := IdempotencyKey{Key: "k1", Route: "POST checks", Fingerprint: "f1"}
	first, err := p.SaveCheck(ctx, coordinator, p.check(day), noon, Write{Once: once, After: raiseForEach})
	if err != nil {
		t.Fatal(err)
	}
	// The row has moved on; the answer is still the first one's row and flags.
	if _, err := p.VoidCheck(ctx, coordinator, first.Row.ID, 1, "wrong tank", noon, nil); err != nil {
		t.Fatal(err)
	}
	again, err := p.SaveCheck(ctx, coordinator, p.check(day), noon, Write{Once: once, After: raiseForEach})
	if err != nil || !again.Repeated || again.Row.ID != first.Row.ID || len(again.Changes) != 1 {
		t.Errorf("again: %+v, %v", again, err)
	}
	other := once
	other.Fingerprint = "f2"
	_, err = p.SaveCheck(ctx, coordinator, p.check(day.AddDays(1)), noon, Write{Once: other})
	wantKey(t, err, logbook.Invalid, "error.idempotency.mismatch")
	keeper := logbook.Actor{AccountID: "a2", Role: logbook.Keeper, SiteID: p.site.ID}
	if got, err := p.SaveCheck(ctx, keeper, p.check(day.AddDays(2)), noon, Write{Once: other}); err != nil ||
		got.Repeated {
		t.Errorf("another client's key stands in the way: %v", err)
	}
	site, err := p.CreateSite(ctx, coordinator, logbook.Site{Name: "B", Zone: "UTC", TemperatureUnit: units.Cel}, noon,
		IdempotencyKey{Key: "k2"})
	if err != nil {
		t.Fatal(err)
	}
	if same, err := p.CreateSite(ctx, coordinator, logbook.Site{Name: "B", Zone: "UTC", TemperatureUnit: units.Cel},
		noon, IdempotencyKey{Key: "k2"}); err != nil || same != site {
		t.Errorf("same site again %+v, %v", same, err)
	}
	n, err := p.Purge(ctx, noon.Add(KeyLifetime+time.Second))
	if err != nil || n != 3 {
		t.Errorf("purged %d keys, %v; want 3", n, err)
	}
}

// TestFiftyAtOnce: requirement O5.
func TestFiftyAtOnce(t *testing.T) {
	p, ctx := plant(t), t.Context()
	for name, w := range map[string]Write{
		"with a key":    {Once: IdempotencyKey{Key: "k", Route: "r", Fingerprint: "f"}, After: raiseForEach},
		"without a key": {After: raiseForEach},
	} {
		t.Run(name, func(t *testing.T) {
			before, rows := p.count(t, "SELECT revision FROM season"), p.count(t, "SELECT count(*) FROM checks")
			c := p.check(day.AddDays(rows))
			var wg sync.WaitGroup
			ids, errs := make([]logbook.ID, 50), make([]error, 50)
			for i := range 50 {
				wg.Go(func() {
					got, err := p.SaveCheck(ctx, coordinator, c, noon, w)
					ids[i], errs[i] = got.Row.ID, err
				})
			}
			wg.Wait()
			for i := range ids {
				if errs[i] != nil || ids[i] != ids[0] {
					t.Fatalf("save %d: id %s, %v", i, ids[i], errs[i])
				}
			}
			if n := p.count(t, "SELECT count(*) FROM checks"); n != rows+1 {
				t.Errorf("%d rows", n)
			}
			if n := p.count(t, "SELECT revision FROM season"); n != before+1 {
				t.Errorf("season revision %d after %d", n, before)
			}
		})
	}
}

func TestCorrectAndVoid(t *testing.T) {
	p, ctx := plant(t), t.Context()
	first, err := p.SaveCheck(ctx, coordinator, p.check(day), noon, Write{})
	if err != nil {
		t.Fatal(err)
	}
	other, err := p.SaveCheck(ctx, coordinator, p.check(day.AddDays(1)), noon, Write{})
	if err != nil {
		t.Fatal(err)
	}
	keeper := logbook.Actor{AccountID: "a2", Role: logbook.Keeper, SiteID: p.site.ID, Label: "Keeper"}
	fix := p.check(day)
	fix.DeadEggs = units.Some(12)
	_, err = p.CorrectCheck(ctx, keeper, first.Row.ID, 1, fix, "  ", noon, nil)
	wantKey(t, err, logbook.Invalid, "error.entry")
	later := noon.Add(48 * time.Hour)
	got, err := p.CorrectCheck(ctx, keeper, first.Row.ID, 1, fix, "misread", later, nil)
	if err != nil {
		t.Fatal(err)
	}
	want := first.Row.Entry
	want.Revision, want.Reason, want.ChangedAt, want.ChangedBy, want.ChangedLabel = 2, "misread", later, logbook.Keeper,
		"Keeper"
	if got.Row.Entry != want {
		t.Errorf("entry %+v, want %+v", got.Row.Entry, want)
	}
	_, err = p.CorrectCheck(ctx, keeper, first.Row.ID, 1, p.check(day), "misread", later, nil)
	wantKey(t, err, logbook.Conflict, "error.stale")
	var cur *Current[logbook.Check]
	if !errors.As(err, &cur) || cur.Row.DeadEggs != units.Some(12) || cur.Row.Revision != 2 {
		t.Errorf("current row in %v: %+v", err, cur)
	}
	moved := fix
	moved.On = other.Row.On
	_, err = p.CorrectCheck(ctx, keeper, first.Row.ID, 2, moved, "wrong date", later, nil)
	wantKey(t, err, logbook.Conflict, "error.check.exists")
	moved.On = day.AddDays(-1)
	if _, err := p.CorrectCheck(ctx, keeper, first.Row.ID, 2, moved, "wrong date", later, nil); err != nil {
		t.Fatal(err)
	}
	if _, err := p.VoidCheck(ctx, keeper, first.Row.ID, 3, "wrong tank", later, nil); err != nil {
		t.Fatal(err)
	}
	_, err = p.CorrectCheck(ctx, keeper, first.Row.ID, 4, fix, "misread", later, nil)
	wantKey(t, err, logbook.Conflict, "error.voided")
	stranger := logbook.Actor{Role: logbook.Keeper, SiteID: logbook.NewID()}
	_, err = p.VoidCheck(ctx, stranger, other.Row.ID, 1, "why", later, nil)
	wantKey(t, err, logbook.NotFound, "error.not_found")
	p.reload(t)
	if len(p.season.Checks) != 1 || len(p.season.Voided) != 1 || p.season.Voided[0].ID != first.Row.ID {
		t.Errorf("checks %d, voided %d", len(p.season.Checks), len(p.season.Voided))
	}
	if past, err := p.History(ctx, p.season.ID); err != nil || len(past) != 3 {
		t.Errorf("history of the season has %d rows, %v", len(past), err)
	}
	// The freed slot can be used again.
	if _, err := p.SaveCheck(ctx, keeper, moved, later, Write{}); err != nil {
		t.Error(err)
	}
}

func TestFlagLife(t *testing.T) {
	p, ctx := plant(t), t.Context()
	decide := func(changes ...FlagChange) After {
		return func(*logbook.Season, []Flag) ([]FlagChange, error) { return changes, nil }
	}
	raise := FlagChange{Op: Raise, Rule: "chiller", Kind: "act", On: day, Args: json.RawMessage(`{"n":1}`)}
	saved, err := p.SaveCheck(ctx, coordinator, p.check(day), noon, Write{After: decide(raise)})
	if err != nil || len(saved.Changes) != 1 {
		t.Fatalf("changes %v, %v", saved.Changes, err)
	}
	if got, err := p.UpdateFlags(ctx, coordinator, p.season.ID, noon, decide(raise)); err != nil || len(got) != 0 {
		t.Errorf("raising again changed %v, %v", got, err)
	}
	list, err := p.Flags(ctx, p.season.ID, false)
	if err != nil || len(list) != 1 {
		t.Fatalf("flags %v, %v", list, err)
	}
	id := list[0].ID
	if f, err := p.SeeFlag(ctx, coordinator, id, noon); err != nil || f.SeenBy != "Coordinator" || !f.Open() {
		t.Errorf("seen flag %+v, %v", f, err)
	}
	if f, err := p.ShelveFlag(ctx, coordinator, id, Aside{Until: day.AddDays(3), Reason: "part ordered"},
		noon); err != nil || f.ShelvedUntil != day.AddDays(3) || !f.Open() {
		t.Errorf("flag set aside %+v, %v", f, err)
	}
	if got, err := p.UpdateFlags(ctx, coordinator, p.season.ID, noon,
		decide(FlagChange{Op: Clear, Rule: "chiller", On: day})); err != nil || len(got) != 1 {
		t.Errorf("clearing changed %v, %v", got, err)
	}
	_, err = p.ShelveFlag(ctx, coordinator, id, Aside{Until: day, Reason: "x"}, noon)
	wantKey(t, err, logbook.Conflict, "error.flag.cleared")
	if n := p.count(t, "SELECT count(*) FROM flag_history WHERE flag_id = ?", id); n != 4 {
		t.Errorf("%d steps kept, want raised, seen, set aside, cleared", n)
	}
	// The rules may refuse: then nothing of the write stays.
	fail := errors.New("no")
	_, err = p.SaveCheck(ctx, coordinator, p.check(day.AddDays(1)), noon, Write{Once: IdempotencyKey{Key: "k"},
		After: func(*logbook.Season, []Flag) ([]FlagChange, error) { return nil, fail }})
	if !errors.Is(err, fail) || p.count(t, "SELECT count(*) FROM checks") != 1 ||
		p.count(t, "SELECT count(*) FROM idempotency") != 0 {
		t.Errorf("after a refusal: %v", err)
	}
}

// TestTwoWritersAtOnce: two programs on one file wait for each other; neither fails.
func TestTwoWritersAtOnce(t *testing.T) {
	dir := t.TempDir()
	p, ctx := plantIn(t, dir), t.Context()
	other := open(t, dir)
	const each = 40
	var wg sync.WaitGroup
	errs := make([]error, 2)
	for i, d := range []*DB{p.DB, other} {
		wg.Go(func() {
			for n := range each {
				c := p.check(day.AddDays(2*n + i))
				if _, err := d.SaveCheck(ctx, coordinator, c, noon, Write{After: raiseForEach}); err != nil {
					errs[i] = fmt.Errorf("write %d: %w", n, err)
					return
				}
			}
		})
	}
	wg.Wait()
	if err := errors.Join(errs...); err != nil {
		t.Fatal(err)
	}
	if n := p.count(t, "SELECT count(*) FROM checks"); n != 2*each {
		t.Errorf("%d checks", n)
	}
	if n := p.count(t, "SELECT count(*) FROM flag"); n != 2*each {
		t.Errorf("%d flags", n)
	}
}

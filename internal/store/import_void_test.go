package store

import (
	"errors"
	"testing"
	"time"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/units"
)

// A file that is taken back stays in the list with its reason, its readings count no
// more, and a right file can be stored for the same hours.
func TestFileOfReadingsTakenBack(t *testing.T) {
	p, ctx := plant(t), t.Context()
	in := Import{SeasonID: p.season.ID, FileSHA256: HashToken("wrong"), FileName: "wrong.csv", Dialect: `{}`}
	for _, n := range []int{40, 1200} { // in one step, and in parts
		wrong := halfHours(n)
		saved, err := p.SaveReadings(ctx, coordinator, in, wrong, noon, nil)
		if err != nil || saved.Added != n {
			t.Fatal(saved, err)
		}
		p.reload(t)
		before := p.season.Revision
		asked := false
		after := func(s *logbook.Season, _ []Flag) ([]FlagChange, error) {
			asked = true
			if len(s.Readings) != 0 {
				t.Errorf("the rules see %d readings", len(s.Readings))
			}
			return nil, nil
		}
		if _, err := p.VoidImport(ctx, coordinator, p.season.ID, saved.ID, " ", noon, after); err == nil {
			t.Error("taken back without a reason")
		}
		if _, err := p.VoidImport(ctx, logbook.Actor{Role: logbook.Keeper, SiteID: "other"}, p.season.ID, saved.ID, "x",
			noon, after); err == nil {
			t.Error("taken back by a keeper of another school")
		}
		if _, err := p.VoidImport(ctx, coordinator, p.season.ID, saved.ID, "the file of tank B", noon.Add(time.Hour),
			after); err != nil || !asked {
			t.Fatal(err, asked)
		}
		p.reload(t)
		if len(p.season.Readings) != 0 || p.season.Revision == before {
			t.Errorf("%d readings left; revision %d after %d", len(p.season.Readings), p.season.Revision, before)
		}
		if list, err := p.Readings(ctx, p.season.ID, civil.Date{}, civil.Date{}); err != nil || len(list) != 0 {
			t.Errorf("%d readings in the list, %v", len(list), err)
		}
		if n := p.count(t, "SELECT count(*) FROM reading"); n == 0 {
			t.Error("the history is gone")
		}
		files, err := p.Imports(ctx, p.season.ID)
		if err != nil || files[0].Voided == nil || files[0].Voided.Reason != "the file of tank B" ||
			files[0].FileName != "wrong.csv" {
			t.Errorf("%+v %v", files, err)
		}
		var e *logbook.Error
		if _, err := p.VoidImport(ctx, coordinator, p.season.ID, saved.ID, "again", noon, nil); !errors.As(err, &e) ||
			e.Kind != logbook.Conflict {
			t.Errorf("taken back twice: %v", err)
		}
	}
	right := halfHours(40)
	for i := range right {
		right[i].Temperature = 7
	}
	saved, err := p.SaveReadings(ctx, coordinator, in, right, noon, nil)
	p.reload(t)
	if err != nil || saved.Added != 40 || saved.Other != 0 || len(p.season.Readings) != 40 ||
		p.season.Readings[3].Temperature != 7 {
		t.Errorf("the right file: %+v, %d readings, %v", saved, len(p.season.Readings), err)
	}
	for _, stmt := range []string{"DELETE FROM import_void", "UPDATE import_void SET reason = 'other'"} {
		if _, err := p.writer.ExecContext(ctx, stmt); err == nil {
			t.Errorf("%s is allowed", stmt)
		}
	}
}

// Two files that disagree in an hour both count for nothing there, until one of them
// is taken back.
func TestFilesThatDisagree(t *testing.T) {
	p, ctx := plant(t), t.Context()
	store := func(name string, by units.Celsius) Import {
		list := halfHours(20)
		for i := range list[:4] {
			list[i].Temperature += by
		}
		in := Import{SeasonID: p.season.ID, FileSHA256: HashToken(name), FileName: name, Dialect: `{}`}
		saved, err := p.SaveReadings(ctx, coordinator, in, list, noon, nil)
		if err != nil {
			t.Fatal(err)
		}
		return saved
	}
	disputed := func() (n, good int) {
		p.reload(t)
		for _, r := range p.season.Readings {
			switch {
			case r.Reason == logbook.ReasonDisputed && r.Quality == logbook.Suspect:
				n++
			case r.Quality == logbook.Good:
				good++
			}
		}
		return n, good
	}
	store("a", 0)
	other := store("b", 3)
	if other.Added != 4 || other.Known != 16 || other.Other != 4 {
		t.Errorf("%+v", other)
	}
	if n, good := disputed(); n != 8 || good != 16 {
		t.Errorf("%d disputed, %d good", n, good)
	}
	if _, err := p.VoidImport(ctx, coordinator, p.season.ID, other.ID, "of tank B", noon, nil); err != nil {
		t.Fatal(err)
	}
	if n, good := disputed(); n != 0 || good != 20 {
		t.Errorf("after taking back: %d disputed, %d good", n, good)
	}
	store("c", 0.5) // within what two loggers may be off
	if n, _ := disputed(); n != 0 {
		t.Errorf("half a degree apart: %d disputed", n)
	}
}

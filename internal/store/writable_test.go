package store

import (
	"os"
	"testing"
	"time"

	"reddside/internal/logbook"
)

// A file that is deleted or replaced under the running program takes no entry.
func TestFileGone(t *testing.T) {
	for name, away := range map[string]func(path string) error{
		"deleted": os.Remove,
		"moved":   func(path string) error { return os.Rename(path, path+".away") },
		"replaced": func(path string) error {
			return os.WriteFile(path+".new", nil, 0o600)
		},
	} {
		p, ctx := plant(t), t.Context()
		if _, err := p.SaveCheck(ctx, coordinator, p.check(day), noon, Write{}); err != nil {
			t.Fatal(err)
		}
		if err := away(p.Path()); err != nil {
			t.Skip("the system holds open files in place:", err)
		}
		if name == "replaced" {
			if err := os.Rename(p.Path()+".new", p.Path()); err != nil {
				t.Fatal(err)
			}
		}
		_, err := p.SaveCheck(ctx, coordinator, p.check(day.AddDays(1)), noon, Write{})
		wantKey(t, err, logbook.Unavailable, "error.file_gone")
		wantKey(t, p.Writable(ctx), logbook.Unavailable, "error.file_gone")
		if s, err := p.LoadSeason(ctx, p.season.ID); err != nil || len(s.Checks) != 1 {
			t.Errorf("%s: reading goes on: %v", name, err)
		}
	}
}

// The probe of writing tells a full disk, and is made at times only.
func TestWritable(t *testing.T) {
	p, ctx := plant(t), t.Context()
	if err := p.Writable(ctx); err != nil {
		t.Fatal(err)
	}
	if _, err := p.writer.ExecContext(ctx, "PRAGMA query_only = 1"); err != nil { // every write fails from now on
		t.Fatal(err)
	}
	if err := p.Writable(ctx); err != nil {
		t.Error("probed again at once:", err)
	}
	p.probe.at = p.probe.at.Add(-probeEvery - time.Second)
	wantKey(t, p.Writable(ctx), logbook.Unavailable, "error.disk")
}

// A session that stands outlives a disk on which nothing can be stored; a new
// one does not begin.
func TestSessionsOnAFullDisk(t *testing.T) {
	p, ctx := plant(t), t.Context()
	s, until := p.Sessions(func() time.Time { return noon }), noon.Add(time.Hour)
	if err := s.CommitCtx(ctx, "stands", []byte("a"), until); err != nil {
		t.Fatal(err)
	}
	if _, err := p.writer.ExecContext(ctx, "PRAGMA query_only = 1"); err != nil {
		t.Fatal(err)
	}
	if err := s.CommitCtx(ctx, "stands", []byte("b"), until); err != nil {
		t.Error(err)
	}
	if data, found, err := s.FindCtx(ctx, "stands"); !found || string(data) != "a" || err != nil {
		t.Errorf("%q %v %v", data, found, err)
	}
	if err := s.CommitCtx(ctx, "new", []byte("a"), until); logbook.KindOf(err) != logbook.Unavailable {
		t.Error(err)
	}
}

package store

import (
	"strings"
	"testing"

	"reddside/internal/civil"
	"reddside/internal/logbook"
)

func TestFindings(t *testing.T) {
	b := newFlagBook(t)
	b.say(civil.MustParse("2026-02-01"), map[string]string{"dead_count": "act", "check_missing": "due"})
	act, due := b.newest("dead_count"), b.newest("check_missing")
	if _, err := b.SetFinding(t.Context(), coordinator, FlagFinding{FlagID: due.ID, What: FoundReal},
		b.now); logbook.KindOf(err) != logbook.Conflict {
		t.Errorf("a due flag was judged: %v", err)
	}
	if _, err := b.SetFinding(t.Context(), coordinator, FlagFinding{FlagID: act.ID, What: "odd"},
		b.now); logbook.KindOf(err) != logbook.Invalid {
		t.Errorf("an unknown finding was taken: %v", err)
	}
	for _, what := range []FindingKind{FoundNothing, FoundReal} {
		f, err := b.SetFinding(t.Context(), coordinator, FlagFinding{FlagID: act.ID, What: what, Note: "  plug "},
			b.now)
		if err != nil {
			t.Fatal(err)
		}
		if f.SeenAt.IsZero() || !f.Open() {
			t.Errorf("seen %v, open %v", f.SeenAt, f.Open())
		}
	}
	list, err := b.Findings(t.Context(), b.season.ID)
	if err != nil || len(list) != 2 || list[1].What != FoundReal || list[1].Note != "plug" ||
		list[1].Role != logbook.Coordinator {
		t.Fatalf("%+v %v", list, err)
	}
	if other, err := b.Findings(t.Context(), logbook.NewID()); err != nil || len(other) != 0 {
		t.Errorf("of another season: %+v %v", other, err)
	}
	err = b.write(t.Context(), "spoil", func(c *conn) error {
		_, err := c.exec(t.Context(), "UPDATE flag_finding SET note = 'x'")
		return err
	})
	if err == nil || !strings.Contains(err.Error(), "never change") {
		t.Errorf("a finding was overwritten: %v", err)
	}
	err = b.write(t.Context(), "spoil", func(c *conn) error {
		_,
			err := c.exec(t.Context(), "DELETE FROM flag_finding")
		return err
	})
	if err == nil || !strings.Contains(err.Error(), "never deleted") {
		t.Errorf("a finding was deleted: %v", err)
	}
}

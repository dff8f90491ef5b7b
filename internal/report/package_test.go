package report

import (
	"strings"
	"testing"
	"time"

	"reddside/internal/civil"
	"reddside/internal/units"
)

// Texts that a spreadsheet would run are guarded; numbers never are (requirement
// X4: -0.5 stays -0.5).
func TestCells(t *testing.T) {
	tab := &Table{Name: "t", Columns: []Column{{Name: "a", Type: Text}, {Name: "b", Type: Number}}}
	for _, x := range []struct {
		text, number any
		want         string
	}{
		{"plain", -0.5, "plain,-0.5"},
		{"=1+1", 1e21, "'=1+1,1000000000000000000000"},
		{"+1", 0.1, "'+1,0.1"},
		{"-1", nil, "'-1,"},
		{"@x", Opt(units.None[float64]()), "'@x,"},
		{"\tx", Opt(units.Some(0.0)), "'\tx,0"},
		{"\rx", OptWhole(units.Some(0)), "\"'\rx\",0"},
		{"a,b", 1, `"a,b",1`},
		{`say "hi"`, int64(2), `"say ""hi""",2`},
		{"two\nlines", true, "\"two\nlines\",true"},
		{" edge ", civil.MustParse("2026-01-02"), `" edge ",2026-01-02`},
		{"", time.Date(2026, 1, 2, 3, 4, 5, 0, time.FixedZone("", -4*3600)), ",2026-01-02T07:04:05Z"},
		{"", time.Time{}, ","},
	} {
		tab.csv.Reset()
		if err := tab.Add(x.text, x.number); err != nil {
			t.Fatal(err)
		}
		if got := strings.TrimPrefix(tab.csv.String(), "a,b\r\n"); got != x.want+"\r\n" {
			t.Errorf("%v, %v: %q, want %q", x.text, x.number, got, x.want)
		}
	}
	if err := tab.Add("one"); err == nil {
		t.Error("a row with a cell missing was taken")
	}
}

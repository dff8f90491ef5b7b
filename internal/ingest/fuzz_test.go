package ingest

import (
	"bytes"
	"errors"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"
)

func seedFiles(f *testing.F) {
	names, err := filepath.Glob(filepath.Join(root(f), "testdata", "ingest", "*"))
	if err != nil || len(names) == 0 {
		f.Fatal(err)
	}
	for _, n := range names {
		if b, err := os.ReadFile(n); err == nil && len(b) < 4000 {
			f.Add(b)
		}
	}
	f.Add([]byte("d,t C\n2025-01-10 08:00,7.5\n2025-01-10,7.5\n"))
	f.Add([]byte("d,t C\n0001-01-01 00:00,7.5\n0001-01-02 00:00,7.5\n"))
}

func FuzzDetect(f *testing.F) {
	seedFiles(f)
	f.Fuzz(func(t *testing.T, data []byte) {
		p, err := Detect(data, Answers{})
		var fe *FileError
		if err != nil && !errors.As(err, &fe) {
			t.Fatalf("error of another kind: %v", err)
		}
		if err == nil && (len(p.Series) == 0 || p.Dialect.DataLine < 1) {
			t.Fatalf("accepted without series or data: %+v", p)
		}
	})
}

// FuzzRead answers every question with its first option and checks that each
// reading stands on its line and that no time was invented: an instant needs a
// colon, an h, a run of digits of unix time, a compact stamp or a day number on its line.
func FuzzRead(f *testing.F) {
	seedFiles(f)
	f.Fuzz(func(t *testing.T, data []byte) {
		p, err := Detect(data, Answers{})
		if err != nil {
			return
		}
		r, err := Read(data, firstAnswers(data, p), time.UTC)
		if err != nil {
			return
		}
		text, _, _, err := textOf(data, 0)
		if err != nil {
			t.Fatal(err)
		}
		all := lines(text)
		for _, x := range r.Readings {
			line := all[x.Line-1]
			if !strings.Contains(strings.ReplaceAll(line, `"`, ""), strings.ReplaceAll(x.Entered, `"`, "")) {
				t.Fatalf("line %d does not hold %q", x.Line, x.Entered)
			}
			if math.IsNaN(x.Value) || math.IsInf(x.Value, 0) {
				t.Fatalf("value %g", x.Value)
			}
			if x.At.IsZero() == x.On.IsZero() {
				t.Fatalf("reading with neither or both of instant and date: %+v", x)
			}
			if !x.At.IsZero() && !r.Dialect.Unix && !r.Dialect.Serial && !strings.ContainsAny(line, ":hH") &&
				!compactClock.MatchString(line) {
				t.Fatalf("time invented for %q", line)
			}
		}
		s := r.Skipped
		got := len(r.Readings) + len(r.Refused) + s.Blank + s.Comment + s.Event + s.OtherSeries + s.Duplicate
		if want := len(all) - (r.Dialect.DataLine - 1); got != want {
			t.Fatalf("%d lines accounted for, want %d", got, want)
		}
	})
}

var compactClock = regexp.MustCompile(`[0-9]{8}T[0-9]{4}`)

func firstAnswers(data []byte, p Preview) Answers {
	var a Answers
	for range 4 { // a series chosen may raise the question of its unit
		for _, q := range required(p.Questions) {
			switch v := q.Options[0].Value; q.ID {
			case "date_order":
				a.DateOrder = DateOrder(v)
			case "midnight":
				a.Midnight = v
			case "decimal":
				a.Decimal = v
			case "series":
				a.Series = v
			case "unit":
				a.Unit = v
			}
		}
		if q, err := Detect(data, a); err == nil {
			p = q
		}
	}
	return a
}

func FuzzNumber(f *testing.F) {
	for _, s := range []string{"7.5", "7,5", "1,500", "-0.5 °C", "1 500", "+14.287", "1e9", "٧٫٥", "7.5.1", ".", "-"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		v, _, err := ParseNumber(s, MarkUnknown)
		if err != nil {
			return
		}
		if math.IsNaN(v) || math.IsInf(v, 0) {
			t.Fatalf("%q became %g", s, v)
		}
		for _, m := range []DecimalMark{MarkDot, MarkComma} {
			if w, _, err := ParseNumber(s, m); err != nil || w != v {
				t.Fatalf("%q is %g, but %g %v with mark %q", s, v, w, err, rune(m))
			}
		}
	})
}

func FuzzChecks(f *testing.F) {
	seedFiles(f)
	f.Fuzz(func(t *testing.T, data []byte) {
		rows, problems, err := ReadChecks(data)
		if len(rows) > 0 && (len(problems) > 0 || err != nil) {
			t.Fatal("rows beside problems")
		}
		if err == nil && len(rows) == 0 && len(problems) == 0 {
			t.Fatal("nothing said about the file")
		}
		for _, r := range rows {
			if r.Check.On.IsZero() || r.Line < 2 {
				t.Fatalf("%+v", r)
			}
		}
		if len(rows) > 0 && bytes.IndexByte(data, '\n') < 0 && bytes.IndexByte(data, '\r') < 0 {
			t.Fatal("rows without lines")
		}
	})
}

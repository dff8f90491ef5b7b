package entries

import (
	"cmp"
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode"

	"reddside/internal/civil"
	"reddside/internal/ingest"
	"reddside/internal/logbook"
	"reddside/internal/store"
)

// maxRefused is how many refused rows are kept with an import; a local choice
// that keeps the list of imports small. The rest are counted.
const maxRefused = ingest.MaxRefused

// ReadingsPlan is what becomes of the readings of a file in one season.
type ReadingsPlan struct {
	Keep    []logbook.Reading
	Suspect int             // among Keep: stored, marked, left out of sums
	Outside int             // readings before the delivery, after the close or in the future
	Refused []store.Refused // rows of the file and runs of outside readings, by line
	Marked  []MarkedReading // the suspect readings
	Rows    int             // rows refused in all: of the file, and outside
}

// MarkedReading is a suspect reading with its line.
type MarkedReading struct {
	Line    int
	Entered string
	logbook.Reading
}

// PlanReadings takes the readings that fall inside a season: from the first
// delivery to its close, or to today. Daily values keep their date.
func PlanReadings(season *logbook.Season, res ingest.Result, today civil.Date) ReadingsPlan {
	var p ReadingsPlan
	for _, r := range res.Refused {
		p.Refused = append(p.Refused, store.Refused{Line: r.Line, Key: r.Key, Args: r.Args, Text: r.Raw})
	}
	loc := season.Site.Location()
	where := make([]place, 0, len(res.Readings))
	for _, r := range res.Readings {
		out := logbook.Reading{At: r.At, On: r.On, Temperature: r.Celsius(), Quality: logbook.Good, Reason: r.Reason}
		if !r.At.IsZero() {
			out.On = civil.In(r.At, loc)
		}
		if r.Quality == ingest.Suspect {
			out.Quality = logbook.Suspect
		}
		at := place{line: r.Line, on: out.On, bound: outside(season, out.On, today)}
		where = append(where, at)
		if at.key != "" {
			p.Outside++
			continue
		}
		p.Keep = append(p.Keep, out)
		if out.Quality == logbook.Suspect {
			p.Suspect++
			p.Marked = append(p.Marked, MarkedReading{r.Line, r.Entered, out})
		}
	}
	if res.More > 0 {
		p.Refused = append(p.Refused, moreRefused(res.Refused[len(res.Refused)-1].Line+1, res.More, res.LastRefused))
	}
	p.Rows = len(res.Refused) + res.More + p.Outside
	p.Refused = append(p.Refused, outsideRuns(where)...)
	slices.SortStableFunc(p.Refused, func(a, b store.Refused) int { return cmp.Compare(a.Line, b.Line) })
	slices.SortStableFunc(p.Marked, func(a, b MarkedReading) int { return cmp.Compare(a.Line, b.Line) })
	return p
}

// bound is the end of a season that a reading lies beyond; the zero bound means
// that it lies inside.
type bound struct {
	key string
	on  civil.Date
}

type place struct {
	line int
	on   civil.Date
	bound
}

func outside(s *logbook.Season, on, today civil.Date) bound {
	start := s.StartedOn()
	switch {
	case start.IsZero():
		return bound{"import.row.no_delivery", today}
	case on.Before(start):
		return bound{"import.row.before", start}
	case !s.ClosedOn.IsZero() && on.After(s.ClosedOn):
		return bound{"import.row.after", s.ClosedOn}
	case on.After(today):
		return bound{"import.row.future", today}
	}
	return bound{}
}

// outsideRuns joins readings that follow each other in the file and lie beyond
// the same end: one entry for the winter before the eggs came, not thousands.
func outsideRuns(where []place) []store.Refused {
	slices.SortFunc(where, func(a, b place) int { return cmp.Compare(a.line, b.line) })
	var out []store.Refused
	for i := 0; i < len(where); {
		j := i
		first, last := where[i].on, where[i].on
		for j < len(where) && where[j].bound == where[i].bound {
			first, last = civil.Min(first, where[j].on), civil.Max(last, where[j].on)
			j++
		}
		if b := where[i].bound; b.key != "" {
			text := first.String()
			if first != last {
				text += " … " + last.String()
			}
			out = append(out, store.Refused{Line: where[i].line, Key: b.key, Text: text,
				Args: map[string]any{"Count": j - i, "LastLine": where[j-1].line, "On": b.on}})
		}
		i = j
	}
	return out
}

const rowMore = "import.row.more"

// moreRefused stands for n rows that are counted alone.
func moreRefused(line, n, last int) store.Refused {
	return store.Refused{Line: line, Key: rowMore, Args: map[string]any{"Count": n, "LastLine": last}}
}

// LastLine is the last line of an entry that stands for several.
func LastLine(r store.Refused) int {
	if n, ok := r.Args["LastLine"].(int); ok {
		return n
	}
	return r.Line
}

// ReadBack gives arguments that came back from JSON their types again.
func ReadBack(r store.Refused) store.Refused {
	args := make(map[string]any, len(r.Args))
	for k, v := range r.Args {
		if n, ok := v.(float64); ok && n == float64(int(n)) {
			v = int(n)
		}
		if text, ok := v.(string); ok && k == "On" {
			if d, err := civil.Parse(text); err == nil {
				v = d
			}
		}
		args[k] = v
	}
	r.Args = args
	return r
}

// ImportDialect is what is stored of how a file was read.
type ImportDialect struct {
	ingest.Dialect
	Series  string         `json:"series"` // its heading in the file
	Unit    string         `json:"unit"`
	Answers ingest.Answers `json:"answers"`
	// Confirmed are the doubts that somebody said are none.
	Confirmed []string `json:"confirmed,omitempty"`
}

// StoreReadings stores a plan in one transaction; the flags follow. The same
// file again changes nothing. What looks wrong about the file is refused as soft
// problems unless confirmed says that it is right; nil confirms nothing.
func (s *Service) StoreReadings(ctx context.Context, actor logbook.Actor, season *logbook.Season, name string,
	res ingest.Result,
	answers ingest.Answers, p ReadingsPlan, now time.Time, confirmed func(field string) bool) (store.Import, error) {
	asked, err := s.ReadingDoubts(ctx, season, p)
	if err != nil {
		return store.Import{}, err
	}
	in := Sent{Confirmed: confirmed}
	said, left := in.confirmed(asked, func(string) bool { return false })
	if err := logbook.Refuse(left); err != nil {
		return store.Import{}, err
	}
	dialect, err := json.Marshal(ImportDialect{res.Dialect, Shorten(res.Series.Label()), res.Series.Unit, answers,
		said})
	if err != nil {
		return store.Import{}, fmt.Errorf("store readings: %w", err)
	}
	after, err := s.Assess.FlagsAfter(ctx, season, now)
	if err != nil {
		return store.Import{}, err
	}
	refused := p.Refused
	if len(refused) > maxRefused {
		n, last := 0, 0
		for _, r := range refused[maxRefused:] {
			last = max(last, LastLine(r))
			if more, ok := r.Args["Count"].(int); ok && r.Key == rowMore {
				n += more - 1
			}
			n++
		}
		refused = append(slices.Clone(refused[:maxRefused]), moreRefused(refused[maxRefused].Line, n, last))
	}
	return s.db.SaveReadings(ctx, actor, store.Import{SeasonID: season.ID, FileSHA256: res.Digest,
		FileName: CleanFileName(name),
		Series:   Shorten(res.Series.Label()), Dialect: string(dialect), Refused: refused}, p.Keep, now, after)
}

// Shorten bounds a heading; the end of a long one tells series apart, so its
// hash stays.
func Shorten(label string) string {
	if r := []rune(label); len(r) > 120 {
		return string(r[:100]) + "… " + store.HashToken(label)[:12]
	}
	return label
}

// ImportAnswers reads answers by the names of their questions; get returns ""
// for one that was not given. A decimal mark may be given as a word.
func ImportAnswers(get func(name string) string) ingest.Answers {
	a := ingest.Answers{DateOrder: ingest.DateOrder(get("date_order")), Midnight: get("midnight"),
		Decimal: get("decimal"),
		Series:  get("series"), Unit: get("unit"), Zone: get("zone"), Air: get("air")}
	a.TimeColumn, _ = strconv.Atoi(get("time_column"))
	a.Sheet, _ = strconv.Atoi(get("sheet"))
	switch a.Decimal {
	case "comma":
		a.Decimal = ","
	case "dot":
		a.Decimal = "."
	}
	return a
}

// ImportAnswerNames are the names that ImportAnswers knows.
func ImportAnswerNames() []string {
	return strings.Fields("sheet time_column date_order midnight decimal series unit zone air")
}

// CleanFileName makes the name of a sent file harmless to show: no folders, no
// control or direction characters, at most 80 characters.
func CleanFileName(name string) string {
	if i := strings.LastIndexAny(name, `/\`); i >= 0 {
		name = name[i+1:]
	}
	name = strings.Map(func(r rune) rune {
		if !unicode.IsPrint(r) || r == unicode.ReplacementChar {
			return -1
		}
		return r
	}, strings.ToValidUTF8(name, ""))
	name = strings.TrimSpace(name)
	if r := []rune(name); len(r) > 80 {
		name = string(r[:79]) + "…"
	}
	return name
}

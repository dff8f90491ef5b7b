package ingest

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"sort"
	"strings"
	"time"

	"reddside/internal/civil"
)

// Read takes the chosen series from a file. loc is the zone of the site; it is
// used for instants unless the file or the answers give an offset. The error
// is a *FileError when the file cannot be used and a *QuestionsError when an
// answer is needed first.
func Read(data []byte, answers Answers, loc *time.Location) (Result, error) {
	a, err := analyse(data, answers)
	if err != nil {
		return Result{}, err
	}
	if open := required(a.questions); len(open) > 0 {
		return Result{}, &QuestionsError{open}
	}
	sum := sha256.Sum256(data)
	r := reader{a: a, loc: loc, s: *a.chosen}
	r.res = Result{Digest: hex.EncodeToString(sum[:]), Dialect: a.dialect, Series: *a.chosen}
	for i := a.t.dataAt; i < len(a.t.rows); i++ {
		r.line(i)
	}
	r.settleRepeats()
	limits := DefaultQualityLimits()
	if answers.Limits != nil {
		limits = *answers.Limits
	}
	if answers.Air == AirWater {
		limits.AirDays = 0
	}
	limits.mark(r.res.Readings, r.s.Quantity)
	r.askAir(answers.Air)
	r.summarise()
	if r.res.All.Count == 0 && len(r.res.Refused) == 0 {
		return Result{}, refuseFile("ingest.file.no_readings", map[string]any{"Name": r.s.Label()})
	}
	return r.res, nil
}

// askAir offers to leave out the readings of the air, which is done unless a person
// says that they are of water.
func (r *reader) askAir(given string) {
	n := 0
	for i := range r.res.Readings {
		if r.res.Readings[i].Reason == ReasonAir {
			n++
		}
	}
	if n > 0 || given == AirWater {
		r.res.Questions = append(r.res.Questions, Question{ID: "air", Key: "ingest.ask.air",
			Args:      map[string]any{"Count": n},
			Suggested: AirLeaveOut, Options: []Option{{Value: AirLeaveOut, Key: "ingest.option.air_out"},
				{Value: AirWater, Key: "ingest.option.air_water"}}})
	}
}

type reader struct {
	a   *analysis
	loc *time.Location
	s   Series
	res Result
}

// MaxRefused is how many refused rows of a file are kept; a local choice, far more
// than anybody reads. The others are counted.
const MaxRefused = 5000

func (r *reader) refuse(i, column int, key string, raw string, args map[string]any) {
	if len(r.res.Refused) >= MaxRefused {
		r.res.More++
		r.res.LastRefused = max(r.res.LastRefused, i+1)
		return
	}
	r.res.Refused = append(r.res.Refused, Problem{Line: i + 1, Column: column, Key: key, Args: args, Raw: cut(raw)})
}

// line sorts one line of the file into reading, refused or skipped.
func (r *reader) line(i int) {
	t, tc := r.a.t, r.a.time
	row := t.row(i)
	switch {
	case blankRow(row):
		r.res.Skipped.Blank++
		return
	case strings.HasPrefix(row[0], "#"), len(t.header) > 1 && equalRows(row, t.header):
		r.res.Skipped.Comment++
		return
	}
	for _, g := range r.s.Group {
		if at(row, g.Column-1) != g.Value {
			r.res.Skipped.OtherSeries++
			return
		}
	}
	if n := filledLength(row); len(t.header) > 0 && n > len(t.header) {
		r.refuse(i, len(t.header)+1, "ingest.row.extra_cells", t.rows[i],
			map[string]any{"Cells": n, "Header": len(t.header)})
		return
	}
	c := r.s.Column - 1
	cell := at(row, c)
	on, when, key, args := r.when(row)
	if key != "" {
		if cell == "" && (r.other(row) || r.event(row)) && at(row, tc.date) != "" {
			// Nothing of this series is lost with the row.
			r.res.Skipped.OtherSeries++
			return
		}
		r.refuse(i, tc.date+1, key, joined(at(row, tc.date), at(row, tc.clock)), args)
		return
	}
	if cell == "" {
		switch {
		case r.other(row):
			r.res.Skipped.OtherSeries++
		case r.event(row):
			r.res.Skipped.Event++
		default:
			r.refuse(i, c+1, "ingest.row.no_value", t.rows[i], nil)
		}
		return
	}
	if missing(cell) {
		r.refuse(i, c+1, "ingest.row.no_value", cell, nil)
		return
	}
	v, unit, err := ParseNumber(cell, r.a.p.mark)
	switch {
	case err == ErrNumberUnclear:
		r.refuse(i, c+1, "ingest.row.number_unclear", cell, map[string]any{"Text": cut(cell)})
		return
	case err != nil:
		r.refuse(i, c+1, "ingest.row.not_a_number", cell, map[string]any{"Text": cut(cell)})
		return
	case unit != "" && unit != r.s.Unit:
		r.refuse(i, c+1, "ingest.row.other_unit", cell, map[string]any{"Text": cut(cell)})
		return
	}
	rd := Reading{Line: i + 1, At: when, On: on, Entered: cell, Unit: r.s.Unit, Value: v, Quality: Good}
	if r.s.Quantity == Temperature || r.s.Quantity == Pressure {
		rd.Value = toCanonical(r.s.Unit, v)
	}
	r.res.Readings = append(r.res.Readings, rd)
}

// when returns the date of a daily value or the instant of a reading, or the
// key of the reason why the row has neither.
func (r *reader) when(row []string) (on civil.Date, when time.Time, key string, args map[string]any) {
	tc := r.a.time
	cell := at(row, tc.date)
	args = map[string]any{"Text": cut(joined(cell, at(row, tc.clock)))}
	if cell == "" {
		return on, when, "ingest.row.no_date", nil
	}
	if tc.kind == unixTime {
		t, ok := scanUnix(cell)
		if !ok {
			return on, when, "ingest.row.time_unclear", args
		}
		return on, t, "", nil
	}
	st, ok := tc.stamp(cell)
	if !ok || !st.hasDate {
		return on, when, "ingest.row.time_unclear", args
	}
	day, ok := st.date(r.a.order)
	switch {
	case !ok:
		return on, when, "ingest.row.no_such_date", args
	case tc.kind == dateOnly && st.hasTime && (st.hour%24 != 0 || st.minute != 0 || st.second != 0):
		return on, when, "ingest.row.time_in_daily", args
	case tc.kind == dateOnly:
		return day, when, "", nil
	}
	if tc.clock >= 0 && !st.hasTime {
		clock := at(row, tc.clock)
		if clock == "" {
			return on, when, "ingest.row.no_time", args
		}
		ct, ok := scanStamp(clock)
		if !ok || ct.hasDate || !ct.hasTime {
			return on, when, "ingest.row.time_unclear", args
		}
		st.hasTime, st.hour, st.minute, st.second, st.nano = true, ct.hour, ct.minute, ct.second, ct.nano
		st.hasOff, st.off = ct.hasOff, ct.off
	}
	if !st.hasTime && tc.days && tc.clock < 0 {
		st.hasTime = true // a whole day number among fractions is midnight
	}
	if !st.hasTime {
		return on, when, "ingest.row.no_time", args
	}
	loc := r.loc
	switch {
	case st.hasOff:
		loc = time.FixedZone("", st.off)
	case r.a.fixed:
		loc = time.FixedZone("", r.a.offset)
	case r.a.winter:
		loc = standardTime(r.loc, day)
	}
	t, found := localInstant(day, st, loc)
	args["Zone"] = loc.String()
	switch found {
	case 0:
		return on, when, "ingest.row.time_skipped", args
	case 1:
		return on, t.UTC(), "", nil
	}
	return on, when, "ingest.row.time_twice", args
}

// other reports whether the row carries a value of another series.
func (r *reader) other(row []string) bool {
	for _, s := range r.a.series {
		if s.Column != r.s.Column && at(row, s.Column-1) != "" && !missing(at(row, s.Column-1)) {
			return true
		}
	}
	return false
}

// event reports whether the row carries a word such as "Logged".
func (r *reader) event(row []string) bool {
	for c := range r.a.p.cols {
		if c != r.a.time.date && c != r.a.time.clock && at(row, c) != "" && r.a.p.cols[c].isEvent(r.a.p.rows) {
			return true
		}
	}
	return false
}

// settleRepeats orders the readings and deals with equal times: the same value
// again is a duplicate; different values are all refused, because nothing in
// the file says which is right.
func (r *reader) settleRepeats() {
	rs := r.res.Readings
	for i := 1; i < len(rs); i++ {
		if less(rs[i], rs[i-1]) {
			r.res.Backward++
		}
	}
	sort.SliceStable(rs, func(a, b int) bool { return less(rs[a], rs[b]) })
	out := rs[:0]
	for i := 0; i < len(rs); {
		j := i + 1
		same := true
		for ; j < len(rs) && !less(rs[i], rs[j]); j++ {
			same = same && rs[j].Value == rs[i].Value
		}
		if same {
			r.res.Skipped.Duplicate += j - i - 1
			out = append(out, rs[i])
		} else {
			for k := i; k < j; k++ {
				twin := rs[i]
				if k == i {
					twin = rs[i+1]
				}
				r.refuse(rs[k].Line-1, r.s.Column, "ingest.row.two_values", rs[k].Entered,
					map[string]any{"Text": rs[k].Entered, "Other": twin.Entered, "OtherLine": twin.Line})
			}
		}
		i = j
	}
	r.res.Readings = out
	sort.SliceStable(r.res.Refused, func(a, b int) bool { return r.res.Refused[a].Line < r.res.Refused[b].Line })
}

func filledLength(row []string) int {
	n := len(row)
	for n > 0 && row[n-1] == "" {
		n--
	}
	return n
}

func equalRows(a, b []string) bool {
	if len(a) != len(b) {
		return false
	}
	for i := range a {
		if a[i] != b[i] {
			return false
		}
	}
	return true
}

func joined(date, clock string) string { return strings.TrimSpace(fmt.Sprint(date, " ", clock)) }

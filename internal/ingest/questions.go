package ingest

import (
	"slices"
	"strconv"
	"strings"

	"reddside/internal/civil"
)

func (a *analysis) ask(q Question) { a.questions = append(a.questions, q) }

func decimalAnswer(s string) DecimalMark {
	if s == "." || s == "," {
		return DecimalMark(s[0])
	}
	return MarkUnknown
}

func trimNames(names []string) []string {
	const most = 12
	if len(names) > most {
		return append(append([]string(nil), names[:most]...), "…")
	}
	return names
}

func (a *analysis) askTimeColumn(choices []timeColumns, want int) {
	a.time = choices[0]
	if len(choices) == 1 {
		return
	}
	q := Question{ID: "time_column", Key: "ingest.ask.time_column", Suggested: strconv.Itoa(choices[0].date + 1)}
	for _, c := range choices {
		q.Options = append(q.Options, Option{strconv.Itoa(c.date + 1), "ingest.option.column",
			map[string]any{"Name": a.t.name(c.date), "Number": c.date + 1}})
		if c.date+1 == want {
			a.time = c
		}
	}
	a.ask(q)
}

// askDateOrder keeps the orders in which the most rows are dates; when more
// than one is left and they disagree, a person has to say.
func (a *analysis) askDateOrder(want DateOrder) error {
	if a.time.kind == unixTime {
		return nil
	}
	fit := map[DateOrder]int{}
	best, example := 0, ""
	differ := false
	for i := a.t.dataAt; i < len(a.t.rows); i++ {
		cell := at(a.t.row(i), a.time.date)
		st, ok := a.time.stamp(cell)
		if !ok || !st.hasDate {
			continue
		}
		var first civil.Date
		for _, o := range allOrders {
			on, ok := st.date(o)
			if !ok {
				continue
			}
			if fit[o]++; fit[o] > best {
				best = fit[o]
			}
			if first.IsZero() {
				first = on
			} else if first != on && example == "" {
				differ, example = true, cell
			}
		}
	}
	var left []DateOrder
	for _, o := range allOrders {
		if fit[o] == best && best > 0 {
			left = append(left, o)
		}
	}
	switch {
	case len(left) == 0:
		return refuseFile("ingest.file.no_time_column", nil)
	case len(left) == 1 || !differ:
		a.order = left[0]
		return nil
	}
	q := Question{ID: "date_order", Key: "ingest.ask.date_order", Required: true,
		Args: map[string]any{"Example": example}}
	st, _ := scanStamp(example)
	for _, o := range left {
		on, _ := st.date(o)
		q.Options = append(q.Options, Option{string(o), "ingest.option.date_order." + string(o),
			map[string]any{"Example": example, "Date": on}})
		if o == want {
			a.order, q.Required = o, false
		}
	}
	a.ask(q)
	if a.order == "" {
		a.order = left[0] // for the preview only; Read stops at the question
	}
	return nil
}

// askMidnight asks about files in which every time is 00:00: a spreadsheet
// writes a plain date so, and a daily mean has no time of day.
func (a *analysis) askMidnight(want string) {
	if a.time.kind != dateAndTime || a.time.clock >= 0 {
		return
	}
	rows := 0
	for i := a.t.dataAt; i < len(a.t.rows); i++ {
		st, ok := a.time.stamp(at(a.t.row(i), a.time.date))
		if !ok || !st.hasTime {
			continue
		}
		if rows++; st.hour%24 != 0 || st.minute != 0 || st.second != 0 {
			return
		}
	}
	if rows < 2 {
		return
	}
	a.ask(Question{ID: "midnight", Key: "ingest.ask.midnight", Required: want != MidnightDaily &&
		want != MidnightInstant,
		Options: []Option{{Value: MidnightDaily, Key: "ingest.option.midnight_daily"},
			{Value: MidnightInstant, Key: "ingest.option.midnight_instant"}}})
	if want == MidnightDaily {
		a.time.kind = dateOnly
	}
}

func (a *analysis) unclearNumber() string {
	for i := a.t.dataAt; i < len(a.t.rows); i++ {
		for _, c := range a.t.row(i) {
			if _, _, err := ParseNumber(c, MarkUnknown); err == ErrNumberUnclear {
				return cut(c)
			}
		}
	}
	return "1,500"
}

func (a *analysis) askSeries(want string) {
	natural := choose(a.series)
	a.chosen = natural
	given := false
	for i := range a.series {
		if a.series[i].ID == want {
			a.chosen, given = &a.series[i], true
		}
	}
	if len(a.series) == 1 && a.chosen != nil {
		return
	}
	q := Question{ID: "series", Key: "ingest.ask.series", Required: natural == nil && !given}
	if natural != nil {
		q.Suggested = natural.ID
	}
	for _, s := range a.series {
		q.Options = append(q.Options, Option{s.ID, "ingest.option.series", map[string]any{
			"Name": s.Label(), "Unit": s.Unit, "Count": s.Count, "Min": s.Min, "Max": s.Max}})
	}
	a.ask(q)
}

// askUnit asks for a unit that neither the heading nor the values settle, and
// shows one that was taken from the values.
func (a *analysis) askUnit(want string) {
	s := a.chosen
	if s == nil || s.Unit != "" && !s.Inferred && !s.doubtful {
		return
	}
	options := map[Quantity][]string{Temperature: a.unitsFor(s), OxygenMgL: {UnitMgL},
		OxygenPercent: {UnitPercent}}[s.Quantity]
	q := Question{ID: "unit", Key: "ingest.ask.unit", Suggested: s.Unit, Required: s.Unit == "",
		Args: map[string]any{"Name": s.Label(), "Min": s.Min, "Max": s.Max}}
	if s.doubtful {
		q.Key, q.Suggested, q.Required = "ingest.ask.unit_doubtful", "", true
	}
	for _, u := range options {
		q.Options = append(q.Options, Option{Value: u, Key: "ingest.option.unit." + unitKey(u)})
		if u == want {
			s.Unit, q.Required = u, false
		}
	}
	a.ask(q)
}

// unitsFor are the units in which a column can be water, and the two that are
// common beside them.
func (a *analysis) unitsFor(s *Series) []string {
	col := &a.p.cols[s.Column-1]
	out := []string{UnitCel, UnitDegF}
	for _, u := range TemperatureUnits()[2:] {
		if !unlikely(u, col) && (whole(col.low) || u == UnitKelvin) {
			out = append(out, u)
		}
	}
	if s.Unit != "" && !slices.Contains(out, s.Unit) {
		out = append(out, s.Unit)
	}
	return out
}

func unitKey(u string) string {
	return map[string]string{UnitCel: "celsius", UnitDegF: "fahrenheit", UnitKelvin: "kelvin", "dCel": "tenths_celsius",
		"cCel": "hundredths_celsius", "mCel": "thousandths_celsius", "d[degF]": "tenths_fahrenheit", UnitMgL: "mg_l",
		UnitPercent: "percent"}[u]
}

// askZone takes the offset of the header, else of the lines above it, else the
// zone of the site; a person may say otherwise.
func (a *analysis) askZone(want string) {
	d := &a.dialect
	d.Zone = ZoneSite
	switch {
	case a.time.kind == unixTime:
		d.Zone, d.ZoneInFile, a.fixed = ZoneUTC, true, true
		return
	case a.time.kind == dateOnly:
		return
	}
	if off, same := a.rowOffsets(); same {
		d.Zone, d.ZoneInFile = off, true
		return
	}
	off, ok := headerZone(a.t.name(a.time.date))
	if !ok && a.time.clock >= 0 {
		off, ok = headerZone(a.t.name(a.time.clock))
	}
	standard := !ok && zoneStd.MatchString(a.t.name(a.time.date)+" | "+a.t.name(a.time.clock))
	for i := 0; i < a.t.dataAt && !ok; i++ {
		if row := a.t.row(i); zoneLabel.MatchString(row[0]) {
			off, ok = headerZone(strings.Join(row[1:], " ") + " " + row[0])
			standard = standard || !ok && zoneStd.MatchString(strings.Join(row, " "))
		}
	}
	if ok {
		d.Zone, d.ZoneInFile, a.fixed, a.offset = formatOffset(off), true, true, off
	}
	if !ok && standard {
		d.Zone, d.ZoneInFile, a.winter = ZoneStandard, true, true
	}
	q := Question{ID: "zone", Key: "ingest.ask.zone", Suggested: d.Zone,
		Options: []Option{{Value: ZoneSite, Key: "ingest.option.zone_site"},
			{Value: ZoneUTC, Key: "ingest.option.zone_utc"}}}
	if ok {
		q.Options = append([]Option{{d.Zone, "ingest.option.zone_file", map[string]any{"Offset": d.Zone}}},
			q.Options...)
	} else if standard {
		q.Options = append([]Option{{Value: ZoneStandard, Key: "ingest.option.zone_standard"}}, q.Options...)
	}
	switch off, isOffset := parseOffset(want); {
	case want == ZoneSite:
		d.Zone, a.fixed, a.winter = ZoneSite, false, false
	case want == ZoneStandard:
		d.Zone, a.fixed, a.winter = ZoneStandard, false, true
	case isOffset:
		d.Zone, a.fixed, a.winter, a.offset = formatOffset(off), true, false, off
	}
	a.ask(q)
}

// rowOffsets is the offset that every row has with its time, ZoneRows when they
// differ; false when some row has none.
func (a *analysis) rowOffsets() (zone string, all bool) {
	for i := a.t.dataAt; i < len(a.t.rows); i++ {
		row := a.t.row(i)
		st, ok := a.time.stamp(at(row, a.time.date))
		if ok && !st.hasTime {
			st, ok = scanStamp(at(row, a.time.clock))
		}
		if !ok {
			continue
		}
		if !st.hasOff {
			return "", false
		}
		switch z := formatOffset(st.off); {
		case zone == "":
			zone = z
		case zone != z:
			zone = ZoneRows
		}
	}
	return zone, zone != ""
}

// askSheet asks which sheet of a spreadsheet is meant when there are several.
func (a *analysis) askSheet(b *book) {
	if b == nil || len(b.sheets) < 2 {
		return
	}
	q := Question{ID: "sheet", Key: "ingest.ask.sheet", Suggested: strconv.Itoa(b.chosen)}
	for i, name := range b.sheets {
		q.Options = append(q.Options, Option{strconv.Itoa(i + 1), "ingest.option.sheet", map[string]any{"Name": name}})
	}
	a.ask(q)
}

package tank

import (
	"slices"
	"strconv"
	"strings"

	"reddside/internal/civil"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/units"
	"reddside/internal/web/ui"
	"reddside/internal/web/words"
)

// dated is a row of the log with what it is sorted by.
type dated struct {
	on   civil.Date
	time string
	row  ui.LogRow
}

// tankLog lists checks, events, photographs and deliveries, newest first; what was taken back
// stays in its place. Events can be opened by staff.
func tankLog(p *i18n.Printer, s *logbook.Season, photos []logbook.Photo, staff bool) []ui.LogRow {
	var all []dated
	for i, v := range words.PhotoViews(p, photos) {
		row := ui.LogRow{When: p.DateShort(photos[i].On), What: p.T("photo.row"), Photos: []ui.Photo{v},
			Href: ui.SeasonPath(s.ID, "/photos")}
		row.Open = p.T("tank.log.open", logbook.Args{"What": row.What, "On": photos[i].On})
		all = append(all, dated{photos[i].On, "", row})
	}
	for _, list := range [][]logbook.Check{s.Checks, s.Voided} {
		for i := range list {
			all = append(all, dated{list[i].On, list[i].Time, checkRow(p, s, &list[i])})
		}
	}
	for i := range s.Events {
		row := eventRow(p, s, &s.Events[i])
		if staff {
			row.Href = ui.EventPath(s.Events[i].ID)
			row.Open = p.T("tank.log.open", logbook.Args{"What": row.What, "On": s.Events[i].On})
		}
		all = append(all, dated{s.Events[i].On, s.Events[i].Time, row})
	}
	for i := range s.Samples {
		row := sampleRow(p, s, &s.Samples[i])
		if staff {
			row.Href = ui.SamplePath(s.Samples[i].ID)
			row.Open = p.T("tank.log.open", logbook.Args{"What": row.What, "On": s.Samples[i].On})
		}
		all = append(all, dated{s.Samples[i].On, "", row})
	}
	for i := range s.Deliveries {
		d := &s.Deliveries[i]
		row := ui.LogRow{When: p.DateShort(d.On), What: p.T("tank.log.delivery"),
			Mark:    ui.EntryMark{Corrections: words.Corrections(d.Entry)},
			Lines:   []string{p.T("tank.log.delivered", logbook.Args{"Number": d.Count, "Method": d.Method})},
			History: history(p, s, d.Entry)}
		if d.Stage != "" {
			row.Lines = append(row.Lines, words.Word(p, d.Stage))
		}
		if staff {
			row.Href = ui.DeliveryPath(d.ID, "/correct")
			row.Open = p.T("tank.log.open", logbook.Args{"What": row.What, "On": d.On})
		}
		all = append(all, dated{d.On, "", row})
	}
	slices.SortStableFunc(all, func(x, y dated) int {
		if c := y.on.Compare(x.on); c != 0 {
			return c
		}
		return strings.Compare(y.time, x.time)
	})
	rows := make([]ui.LogRow, len(all))
	for i := range all {
		rows[i] = all[i].row
	}
	return rows
}

func checkRow(p *i18n.Printer, s *logbook.Season, c *logbook.Check) ui.LogRow {
	row := ui.LogRow{When: when(p, c.On, c.Time), What: words.Word(p, c.Slot), Href: ui.CheckPath(c.ID),
		Mark: words.CheckMark(c, s.Site.Location()), History: history(p, s, c.Entry), Lines: checkSummary(p, c)}
	row.Open = p.T("tank.log.open", logbook.Args{"What": row.What, "On": c.On})
	return row
}

// checkSummary writes a check briefly: numbers, what was seen, and equipment
// only when it did not run.
func checkSummary(p *i18n.Printer, c *logbook.Check) []string {
	var out []string
	if t := words.TemperatureText(p, c); t != "" {
		out = append(out, t)
	}
	if n, counted := c.Dead(); counted {
		out = append(out, p.T("tank.log.dead", logbook.Args{"Number": n}))
	}
	if c.DeadCause != "" {
		out = append(out, p.T("tank.log.dead_cause", logbook.Args{"Cause": c.DeadCause}))
	}
	for _, field := range []string{"stage", "hatched", "water"} {
		if text := words.CheckText(p, c, field); text != "" {
			out = append(out, p.T("tank.log."+field, logbook.Args{"Value": text}))
		}
	}
	if c.Fungus == logbook.Seen {
		out = append(out, p.T("tank.log.fungus"))
	}
	for _, e := range []struct {
		key   string
		state logbook.Equipment
	}{{"chiller", c.Chiller}, {"filter", c.Filter}, {"air_pump", c.AirPump}} {
		if e.state == logbook.Stopped {
			out = append(out, p.T("tank.log."+e.key, logbook.Args{"State": e.state}))
		}
	}
	for _, field := range append(logbook.Names(logbook.WaterTests()), "fed_g") {
		if text := words.CheckText(p, c, field); text != "" {
			out = append(out, p.T("tank.log."+field, logbook.Args{"Value": text}))
		}
	}
	if c.Note != "" {
		out = append(out, p.T("tank.log.note", logbook.Args{"Note": c.Note}))
	}
	if c.Observer != "" {
		out = append(out, p.T("tank.log.by", logbook.Args{"By": c.Observer}))
	}
	return out
}

func eventRow(p *i18n.Printer, s *logbook.Season, e *logbook.Event) ui.LogRow {
	row := ui.LogRow{When: when(p, e.On, e.Time), What: words.Word(p, e.Kind), Mark: words.EventMark(e),
		History: history(p, s, e.Entry)}
	if e.Count.OK {
		row.Lines = append(row.Lines, p.T("tank.log.count", logbook.Args{"Number": e.Count.V}))
	}
	if e.Litres.OK {
		row.Lines = append(row.Lines, p.Value(e.Litres.V))
	}
	if e.Setpoint.OK {
		row.Lines = append(row.Lines, p.Temp(e.Setpoint.V))
	}
	if e.Hours.OK {
		row.Lines = append(row.Lines, p.T("tank.log.hours", logbook.Args{"Hours": e.Hours.V}))
	}
	if e.MeanG.OK {
		row.Lines = append(row.Lines, p.T("tank.log.mean_g", logbook.Args{"Weight": e.MeanG.V}))
	}
	for _, field := range []string{"product", "purpose", "dose", "dose_unit", "minutes", "allowed_by",
		"days_before_release"} {
		if text := words.EventText(p, e, field); text != "" {
			row.Lines = append(row.Lines, words.EventLabel(p, field)+": "+text)
		}
	}
	for _, text := range []string{e.Place, e.Permit, e.Note} {
		if text != "" {
			row.Lines = append(row.Lines, text)
		}
	}
	if e.Observer != "" {
		row.Lines = append(row.Lines, p.T("tank.log.by", logbook.Args{"By": e.Observer}))
	}
	return row
}

func sampleRow(p *i18n.Printer, s *logbook.Season, m *logbook.Sample) ui.LogRow {
	row := ui.LogRow{When: when(p, m.On, ""), What: p.T("sample.name"),
		Mark: ui.EntryMark{Corrections: words.Corrections(m.Entry)}, History: history(p, s, m.Entry)}
	row.Lines = append(row.Lines, p.T("sample.log", logbook.Args{"Fish": m.Count, "Mean": m.Mean()}))
	if m.Lost.V > 0 {
		row.Lines = append(row.Lines, p.T("sample.log_lost", logbook.Args{"Fish": m.Lost.V}))
	}
	if m.Note != "" {
		row.Lines = append(row.Lines, m.Note)
	}
	if m.Observer != "" {
		row.Lines = append(row.Lines, p.T("tank.log.by", logbook.Args{"By": m.Observer}))
	}
	return row
}

func when(p *i18n.Printer, on civil.Date, at string) string {
	if at == "" {
		return p.DateWeekday(on)
	}
	return p.DateWeekday(on) + ", " + at
}

// history says why, by whom and when an entry was last changed.
func history(p *i18n.Printer, s *logbook.Season, e logbook.Entry) string {
	if !e.Corrected() && !e.Voided {
		return ""
	}
	by := e.ChangedLabel
	if by == "" {
		by = words.Word(p, e.ChangedBy)
	}
	return p.T("tank.log.history", logbook.Args{"Reason": words.ReasonText(p, e.Reason), "By": by,
		"At": p.When(e.ChangedAt, s.Site.Location())})
}

// logName is the name of a field's column in the log as CSV.
func logName[T any](f *logbook.Field[T]) string {
	switch f.Name {
	case "setpoint", "temperature":
		return f.CSVName()
	}
	return f.Name
}

// logColumns are the columns of a kind of entry beside those of all.
func logColumns[T any](fields []logbook.Field[T]) []string {
	var out []string
	for i := range fields {
		switch f := &fields[i]; f.Name {
		case "on", "slot", "kind", "time", "temperature_unit", "note", "observer", "confirmed":
		default:
			out = append(out, logName(f))
		}
	}
	return out
}

// logValues are the values of an entry, without the noise of a conversion of units.
func logValues[T any](fields []logbook.Field[T], row *T) map[string]string {
	out := map[string]string{}
	for i := range fields {
		f := &fields[i]
		out[logName(f)] = f.Plain(row)
		if f.Unit == "Cel" {
			out[logName(f)] = decimal(f.Number(row))
		}
	}
	return out
}

// logRecords is the whole log as CSV: one row per check, event and delivery,
// oldest first, in Celsius, with the marks.
func logRecords(s *logbook.Season) [][]string {
	loc := s.Site.Location()
	head := slices.Concat([]string{"date", "time", "entry"}, logColumns(logbook.CheckFields()),
		logColumns(logbook.EventFields()),
		[]string{"note", "observer", "late", "revision", "voided", "reason"})
	col := map[string]int{}
	for i, h := range head {
		col[h] = i
	}
	type record struct {
		on  civil.Date
		row []string
	}
	var all []record
	add := func(on civil.Date, values map[string]string, e logbook.Entry) {
		row := make([]string, len(head))
		values["date"] = on.String()
		values["revision"], values["voided"], values["reason"] = strconv.FormatInt(e.Revision, 10),
			strconv.FormatBool(e.Voided), e.Reason
		for k, v := range values {
			if i, shown := col[k]; shown {
				row[i] = v
			}
		}
		all = append(all, record{on, row})
	}
	for _, list := range [][]logbook.Check{s.Checks, s.Voided} {
		for i := range list {
			c := &list[i]
			values := logValues(logbook.CheckFields(), c)
			values["entry"], values["late"] = string(c.Slot), strconv.FormatBool(c.Late(loc))
			if c.TemperatureEntered != "" {
				values["temperature_entered"] += " " + string(c.TemperatureUnit)
			}
			add(c.On, values, c.Entry)
		}
	}
	for i := range s.Events {
		e := &s.Events[i]
		values := logValues(logbook.EventFields(), e)
		values["entry"] = string(e.Kind)
		add(e.On, values, e.Entry)
	}
	for i := range s.Samples {
		m := &s.Samples[i]
		add(m.On, map[string]string{"entry": "sample", "count": strconv.Itoa(m.Count),
			"mean_g": decimal(units.Some(m.Mean())), "note": m.Note,
			"observer": m.Observer}, m.Entry)
	}
	for i := range s.Deliveries {
		d := &s.Deliveries[i]
		add(d.On, map[string]string{"entry": "delivery", "count": strconv.Itoa(d.Count), "stage": string(d.Stage),
			"note": d.Note}, d.Entry)
	}
	slices.SortStableFunc(all, func(x, y record) int { return x.on.Compare(y.on) })
	out := [][]string{head}
	for _, r := range all {
		out = append(out, r.row)
	}
	return out
}

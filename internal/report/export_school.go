package report

import (
	"fmt"
	"strings"
	"time"

	"reddside/internal/civil"
	"reddside/internal/logbook"
)

// School is what the logbook keeps of a school beside its tanks.
type School struct {
	SiteID     logbook.ID
	Kit        logbook.Kit
	Duty       logbook.DutyList
	ClosedDays []logbook.ClosedSpan
}

// FlagRow is a flag of a season as the export shows it.
type FlagRow struct {
	ID                logbook.ID
	Rule, Kind        string
	RaisedOn, Cleared civil.Date // Cleared is zero while it is open
	SeenBy            string
	ShelveReasonLabel string
	EndWhy, EndIn     string
}

// FindingRow is what people found behind a flag.
type FindingRow struct {
	FlagID     logbook.ID
	What, Note string
	At         time.Time
	Role       logbook.Role
	By         string
}

// HistoryRow is the old form of a row, kept when it was corrected or taken back.
type HistoryRow struct {
	Season   logbook.ID // "" above seasons
	Table    string
	Row      logbook.ID
	Revision int64
	Was      string // JSON object by column
	Reason   string
	At       time.Time
	Role     logbook.Role
	By       string
}

// schoolTables are the tables of schools, of flags, of photographs, and of what
// rows said before.
type schoolTables struct {
	kits, duty, covers, closed, flags, findings, photos, history *Table
}

func newSchoolTables(id, season, on, note Column) schoolTables {
	site := Column{"site_id", Text, "school", "", ""}
	from, to := Column{"from", Day, "first day", "", ""}, Column{"to", Day, "last day, included", "", ""}
	who := Column{"who", Text, "group or role; never a name", "", ""}
	inSite, inSeason := []Ref{{"site_id", "sites"}}, []Ref{{"season_id", "seasons"}}
	duty := []Column{id, site}
	for d := time.Sunday; d <= time.Saturday; d++ {
		name := strings.ToLower(d.String())
		duty = append(duty, Column{name, Text, "who looks on a " + d.String(), "", ""})
	}
	return schoolTables{
		kits: &Table{Name: "kits", About: "Ammonia kits of schools.", Refs: inSite,
			Columns: append([]Column{id, site, {"name", Text, "name on the box", "", ""},
				{"basis", Text, "what its figures count: N, NH3 or NH4", "", ""},
				{"step_mg_l", Number, "between two colours, as printed", "mg/L", ""}}, entryColumns()...)},
		duty: &Table{Name: "duty", About: "Who looks after the tanks of a school on each weekday.", Refs: inSite,
			Columns: append(duty, entryColumns()...)},
		covers: &Table{Name: "covers", About: "Who looks on the days of a holiday; those taken back are in history.",
			Refs:    inSite,
			Columns: append([]Column{id, site, from, to, who, note}, entryColumns()...)},
		closed: &Table{Name: "closed_days", About: "Days on which a school is closed; those taken back are in history.",
			Refs: inSite,
			Columns: []Column{id, site, from, to, {"label", Text, "why", "", ""},
				{"revision", Whole, "1 when first stored; each correction adds one", "", ""}}},
		flags: &Table{Name: "flags", About: "What the rules raised.", Refs: inSeason,
			Columns: []Column{id, season, {"rule", Text, "rule", "", ""},
				{"kind", Text, "act, watch, due or note", "", ""}, {"raised_on", Day, "day on which it was raised", "",
					""},
				{"cleared_on", Day, "day on which it ended", "", ""}, {"seen_by", Text, "label of who saw it first", "",
					""},
				{"set_aside_reason", Text, "why it was set aside last", "", ""},
				{"end_why", Text, "why it ended: solved, part, gone, limit or season; empty: open, or not kept", "", ""},
				{"end_in", Text, "rule of the flag that took it over", "", ""}}},
		findings: &Table{Name: "findings", About: "What people found behind flags; the last of a flag counts.",
			Key: []string{"row"}, Refs: []Ref{{"flag_id", "flags"}},
			Columns: []Column{{"row", Whole, "place in this table, from 1", "1", ""}, {"flag_id", Text, "flag", "", ""},
				{"finding", Text, "real, nothing or unsure", "", ""}, note, {"at", Instant, "when it was told", "", ""},
				{"by_role", Text, "kind of user who told it", "", ""},
				{"by_label", Text, "label of that user; never a pupil", "", ""}}},
		photos: &Table{Name: "photos", About: "Photographs in words; the pictures stay in the logbook.", Refs: inSeason,
			Columns: append([]Column{id, season, on, {"alt", Text, "what it shows", "", ""}}, entryColumns()...)},
		history: &Table{Name: "history", About: "What rows said before they were corrected or taken back.",
			Key: []string{"table", "row_id", "revision"}, Refs: inSeason,
			Columns: []Column{{"table", Text, "table of the logbook", "", ""}, {"row_id", Text, "identifier of the row",
				"", ""},
				{"revision", Whole, "revision of the old form", "", ""}, season,
				{"was", Text, "old form, a JSON object by column of the logbook", "", ""},
				{"reason", Text, "why it was replaced", "", ""}, {"replaced_at", Instant, "when it was replaced", "",
					""},
				{"by_role", Text, "kind of user who replaced it", "", ""},
				{"by_label", Text, "label of that user; never a pupil", "", ""}}},
	}
}

func (t *schoolTables) all() []*Table {
	return []*Table{t.kits, t.duty, t.covers, t.closed, t.flags, t.findings, t.photos, t.history}
}

// School adds what is kept of a school beside its tanks.
func (e *Export) School(s *School) error {
	site := string(s.SiteID)
	if k := &s.Kit; k.Known() {
		if err := e.school.kits.Add(append([]any{string(k.ID), site, k.Name, string(k.Basis), Opt(k.Step)},
			entryCells(&k.Entry)...)...); err != nil {
			return err
		}
	}
	if w := &s.Duty.Week; w.ID != "" {
		cells := []any{string(w.ID), site}
		for _, who := range w.Who {
			cells = append(cells, who)
		}
		if err := e.school.duty.Add(append(cells, entryCells(&w.Entry)...)...); err != nil {
			return err
		}
	}
	for i := range s.Duty.Covers {
		c := &s.Duty.Covers[i]
		if err := e.school.covers.Add(append([]any{string(c.ID), site, c.From, c.To, c.Who, c.Note},
			entryCells(&c.Entry)...)...); err != nil {
			return err
		}
	}
	for _, c := range s.ClosedDays {
		if err := e.school.closed.Add(string(c.ID), site, c.From, c.To, c.Reason, c.Revision); err != nil {
			return err
		}
	}
	return nil
}

// History adds what rows said before.
func (e *Export) History(rows []HistoryRow) error {
	for i := range rows {
		h := &rows[i]
		if err := e.school.history.Add(h.Table, string(h.Row), h.Revision, string(h.Season), h.Was, h.Reason, h.At,
			string(h.Role), h.By); err != nil {
			return err
		}
	}
	return nil
}

// Flags adds the flags of a season, what was found behind them, and its
// photographs in words.
func (e *Export) Flags(season logbook.ID, flags []FlagRow, found []FindingRow, photos []logbook.Photo) error {
	for _, f := range flags {
		if err := e.school.flags.Add(string(f.ID), string(season), f.Rule, f.Kind, f.RaisedOn, f.Cleared, f.SeenBy,
			f.ShelveReasonLabel, f.EndWhy, f.EndIn); err != nil {
			return err
		}
	}
	for _, f := range found {
		e.findings++
		if err := e.school.findings.Add(e.findings, string(f.FlagID), f.What, f.Note, f.At, string(f.Role),
			f.By); err != nil {
			return err
		}
	}
	for i := range photos {
		p := &photos[i]
		if err := e.school.photos.Add(append([]any{string(p.ID), string(season), p.On, p.Alt},
			entryCells(&p.Entry)...)...); err != nil {
			return fmt.Errorf("photographs: %w", err)
		}
	}
	return nil
}

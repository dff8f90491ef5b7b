package web

import (
	"context"
	"net/http"
	"slices"
	"strings"
	"time"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/rules"
	"reddside/internal/store"
	"reddside/internal/web/view"
)

// checkShow shows a stored check line by line and what the log says now.
func (s *Server) checkShow(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	c, season, err := s.storedCheck(r)
	if err != nil {
		return err
	}
	today := s.today(season.Site, v.now)
	m := view.EntryShow{Page: s.entryPage(r, "check_page.title", season), Tank: season.Tank.Name, Site: season.Site.Name,
		TankHref: "/seasons/" + string(season.ID), Mark: checkMark(c, season.Site.Location())}
	href := "/checks/" + string(c.ID)
	if !c.Voided && mayCorrect(v.actor, c, today) {
		m.CorrectHref, m.VoidHref = href+"/correct", href+"/void"
	}
	s.checkLines(&m, c)
	if m.Entered, err = s.entryHistory(r, &m, season, c.ID, c.Entry); err != nil {
		return err
	}
	if err := s.flagsNow(r.Context(), &m, season, c.ChangedAt, v.now); err != nil {
		return err
	}
	if m.NextHref, m.NextTank, err = s.nextTank(r.Context(), season, today); err != nil {
		return err
	}
	return s.render(w, r, http.StatusOK, view.EntryShowPage(m))
}

// checkLines fills what was stored, and names what was not looked at.
func (s *Server) checkLines(m *view.EntryShow, c *logbook.Check) {
	var missing []string
	_, counted := c.Dead()
	for _, field := range checkFields {
		label, text := view.CheckFieldLabel(m.Page, field, m.P.UnitSymbol()), checkText(m.P, c, field)
		if text == "" {
			if slices.Contains(dailyLooks, field) || (field == "dead_eggs" && !counted) {
				missing = append(missing, label)
			}
			continue
		}
		if slices.Contains(c.Confirmed, field) {
			text = m.T("check_page.confirmed", map[string]any{"Value": text})
		}
		line := view.EntryLine{Field: field, Label: label, Value: text}
		switch field {
		case "slot":
			line.Field = "" // the form has no question for it
		case "chiller", "filter", "air_pump":
			if text == m.T(logbook.NotFitted.MessageKey()) {
				line.Field = ""
			}
		}
		m.Lines = append(m.Lines, line)
	}
	m.NotEntered = strings.Join(missing, "; ")
}

// dailyLooks are the questions that a reader should know were left out. Tests
// and food are not for every day.
var dailyLooks = []string{"temperature", "chiller", "filter", "air_pump", "stage", "water", "fungus"}

// entryHistory fills the old forms of an entry and returns who entered it when.
func (s *Server) entryHistory(r *http.Request, m *view.EntryShow, season *logbook.Season, id logbook.ID, e logbook.Entry) (string, error) {
	loc := season.Site.Location()
	entered := m.T("entry.entered", map[string]any{"At": m.P.When(e.ReceivedAt, loc), "By": byRole(m.P, e)})
	if e.Revision <= 1 {
		return entered, nil
	}
	past, err := s.db.RowHistory(r.Context(), id)
	if err != nil {
		return "", err
	}
	for _, old := range past {
		by := old.ByLabel
		if by == "" {
			by = word(m.P, old.By)
		}
		o := view.EntryPast{Reason: m.T("entry.replaced", map[string]any{"At": m.P.When(old.At, loc), "By": by, "Reason": reasonText(m.P, old.Reason)})}
		switch old.Table {
		case "checks":
			c, err := old.Check()
			if err != nil {
				return "", err
			}
			for _, field := range checkFields {
				if text := checkText(m.P, &c, field); text != "" {
					o.Lines = append(o.Lines, view.EntryLine{Label: view.CheckFieldLabel(m.Page, field, m.P.UnitSymbol()), Value: text})
				}
			}
		case "event":
			e, err := old.Event()
			if err != nil {
				return "", err
			}
			o.Lines = eventLines(m.P, &e)
		case "sample":
			x, err := old.Sample()
			if err != nil {
				return "", err
			}
			o.Lines = sampleLines(m.P, &x)
		}
		m.Past = append(m.Past, o)
	}
	return entered, nil
}

// flagsNow fills what the rules say now, and which flags came or went with a
// write at a given time.
func (s *Server) flagsNow(ctx context.Context, m *view.EntryShow, season *logbook.Season, at, now time.Time) error {
	a, err := s.assess(ctx, season, now)
	if err != nil {
		return err
	}
	stored, err := s.db.Flags(ctx, season.ID, true)
	if err != nil {
		return err
	}
	m.Active, m.Status = a.Assessment.Active, a.Assessment.Status
	fresh := map[flagPlace]bool{}
	names := map[string]rules.Message{}
	for _, rule := range rules.All() {
		names[rule.ID] = rule.Name
	}
	for _, f := range stored {
		if f.RaisedAt.Equal(at) && f.Open() {
			fresh[flagPlace{rule: f.Rule, subject: f.Subject}] = true
		}
		if f.ClearedAt.Equal(at) {
			name := names[f.Rule]
			m.Over = append(m.Over, m.T(name.Key, name.Args))
		}
	}
	for _, f := range a.Assessment.Flags {
		if fresh[flagPlace{rule: f.Rule, subject: f.Subject}] {
			m.New = append(m.New, f)
		} else {
			m.Still = append(m.Still, f)
		}
	}
	return nil
}

// nextTank finds the next tank of the site, in the order of their names, that
// has no check today.
func (s *Server) nextTank(ctx context.Context, season *logbook.Season, today civil.Date) (href, name string, err error) {
	heads, err := s.db.SeasonHeads(ctx, store.SeasonFilter{SiteID: season.Site.ID, OpenOnly: true})
	if err != nil {
		return "", "", err
	}
	// Begin after this tank and go round.
	for i, h := range heads {
		if h.ID == season.ID {
			heads = append(append([]store.SeasonHead{}, heads[i+1:]...), heads[:i]...)
			break
		}
	}
	ids := make([]logbook.ID, len(heads))
	for i, h := range heads {
		ids[i] = h.ID
	}
	waiting := map[logbook.ID]string{}
	err = s.db.LoadSeasons(ctx, ids, func(other *logbook.Season) error {
		if last := other.LastCheck(today); other.Open(today) && !other.SchoolClosed(today) && (last == nil || last.On != today) {
			waiting[other.ID] = other.Tank.Name
		}
		return nil
	})
	if err != nil {
		return "", "", err
	}
	for _, id := range ids {
		if name := waiting[id]; name != "" {
			return "/seasons/" + string(id) + "/checks/new", name, nil
		}
	}
	return "", "", nil
}

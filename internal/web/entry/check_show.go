package entry

import (
	"context"
	"net/http"
	"slices"
	"strings"
	"time"

	"reddside/internal/assess"
	"reddside/internal/civil"
	"reddside/internal/entries"
	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/web/req"
	"reddside/internal/web/ui"
	"reddside/internal/web/words"
)

// checkShow shows a stored check line by line and what the log says now.
func (s *Service) checkShow(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	c, season, err := s.storedCheck(r)
	if err != nil {
		return err
	}
	today := s.Assess.Today(season.Site, v.Now)
	m := EntryShow{Page: s.EntryPage(r, "check_page.title", season), Tank: season.Tank.Name, Site: season.Site.Name,
		TankHref: ui.SeasonPath(season.ID), Mark: words.CheckMark(c, season.Site.Location())}
	m.StoredOf, m.StoredOn = m.TankHref+"/checks", c.On.String()
	href := ui.CheckPath(c.ID)
	if !c.Voided && entries.MayCorrect(v.Actor, c, today) {
		m.CorrectHref, m.VoidHref = href+"/correct", href+"/void"
	}
	if !c.Voided && season.Open(today) {
		m.PhotoHref, m.CheckID = ui.SeasonPath(season.ID, "/photos"), string(c.ID)
	}
	s.checkLines(&m, c)
	if m.Entered, err = s.entryHistory(r, &m, season, c.ID, c.Entry); err != nil {
		return err
	}
	if err := s.flagsNow(r.Context(), &m, season, c.ChangedAt, v.Now); err != nil {
		return err
	}
	if m.NextHref, m.NextTank, err = s.nextTank(r.Context(), season, today); err != nil {
		return err
	}
	return s.Render(w, r, http.StatusOK, EntryShowPage(m))
}

// checkLines fills what was stored, and names what was not looked at.
func (s *Service) checkLines(m *EntryShow, c *logbook.Check) {
	var missing []string
	_, counted := c.Dead()
	for _, field := range words.CheckFields {
		label, text := ui.CheckFieldLabel(m.Page, field, m.P.UnitSymbol()), words.CheckText(m.P, c, field)
		if text == "" {
			if slices.Contains(dailyLooks, field) || (field == "dead_eggs" && !counted) {
				missing = append(missing, label)
			}
			continue
		}
		if slices.Contains(c.Confirmed, field) {
			text = m.T("check_page.confirmed", map[string]any{"Value": text})
		}
		line := ui.EntryLine{Field: field, Label: label, Value: text}
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

// flagsNow fills what the rules say now, and which flags came or went with a
// write at a given time.
func (s *Service) flagsNow(ctx context.Context, m *EntryShow, season *logbook.Season, at, now time.Time) error {
	a, err := s.Assess.Assess(ctx, season, now)
	if err != nil {
		return err
	}
	stored, err := s.DB.Flags(ctx, season.ID, true)
	if err != nil {
		return err
	}
	m.Active, m.Status = a.Assessment.Active, a.Assessment.Status
	fresh := map[assess.FlagPlace]bool{}
	for _, f := range stored {
		if f.RaisedAt.Equal(at) && f.Open() {
			fresh[assess.FlagPlace{Rule: f.Rule, Subject: f.Subject}] = true
		}
		if f.ClearedAt.Equal(at) {
			m.Over = append(m.Over, words.OverText(m.P, &f))
		}
	}
	for _, f := range a.Assessment.Flags {
		if fresh[assess.FlagPlace{Rule: f.Rule, Subject: f.Subject}] {
			m.New = append(m.New, f)
		} else {
			m.Still = append(m.Still, f)
		}
	}
	return nil
}

// nextTank finds the next tank of the site, in the order of their names, that
// has no check today.
func (s *Service) nextTank(ctx context.Context, season *logbook.Season, today civil.Date) (href, name string,
	err error) {
	heads, err := s.DB.SeasonHeads(ctx, store.SeasonFilter{SiteID: season.Site.ID, OpenOnly: true})
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
	err = s.DB.LoadSeasons(ctx, ids, func(other *logbook.Season) error {
		if last := other.LastCheck(today); other.Open(today) && !other.SchoolClosed(today) &&
			(last == nil || last.On != today) {
			waiting[other.ID] = other.Tank.Name
		}
		return nil
	})
	if err != nil {
		return "", "", err
	}
	for _, id := range ids {
		if name := waiting[id]; name != "" {
			return ui.SeasonPath(id, "/checks/new"), name, nil
		}
	}
	return "", "", nil
}

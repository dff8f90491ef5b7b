package entry

import (
	"net/http"

	"github.com/go-chi/chi/v5"

	"reddside/internal/entries"
	"reddside/internal/logbook"
	"reddside/internal/web/form"
	"reddside/internal/web/req"
	"reddside/internal/web/ui"
	"reddside/internal/web/words"
)

// renderCheckTaken shows a sent check beside the one that holds its day and
// slot: see it, correct it with the new values, or add an extra check. Nothing
// typed is lost: every way on carries the values.
func (s *Service) renderCheckTaken(w http.ResponseWriter, r *http.Request, season *logbook.Season, have,
	sent *logbook.Check, f *form.Form) error {
	v := req.Of(r)
	m := s.compareChecks(r, "check_compare.title", season, have, sent, f)
	m.Intro = m.T("check_compare.intro", map[string]any{"On": have.On, "At": words.EnteredAt(m.P, season, have),
		"By": words.EnteredBy(m.P, have)})
	if id := logbook.ID(chi.URLParam(r, "checkID")); id != "" {
		// A correction that moved a check to a taken day: it may take a free slot.
		m.Action = ui.CheckPath(id, "/correct")
		m.Hidden = append(m.Hidden, ui.Option{Value: "revision", Label: f.Text("revision")},
			ui.Option{Value: "reason", Label: f.Text("reason")},
			ui.Option{Value: "reason_text", Label: f.Text("reason_text")})
	} else {
		m.Action, m.Held = ui.SeasonPath(season.ID, "/checks"), form.FormKey(f.Text("key"))
		m.Hidden = append(m.Hidden, ui.Option{Value: "key", Label: string(logbook.NewID())})
		if entries.MayCorrect(v.Actor, have, s.Assess.Today(season.Site, v.Now)) {
			m.Buttons = append(m.Buttons, CompareButton{Label: m.T("check_compare.correct"),
				Action: ui.CheckPath(have.ID, "/correct"), Name: "review", Value: reviewJoined})
			m.Hidden = append(m.Hidden, form.RevisionField(have.Revision))
		}
	}
	if slot, all := freeSlot(season, sent.On); !all {
		if slot == logbook.Morning { // stored since the season was read
			slot = "extra"
		}
		m.Buttons = append(m.Buttons, CompareButton{Label: m.T("check_compare.extra"), Name: "slot",
			Value: string(slot)})
	}
	m.Links = []ui.Option{{Value: ui.CheckPath(have.ID), Label: m.T("check_compare.see")}}
	return s.Render(w, r, http.StatusConflict, EntryComparePage(m))
}

// renderCheckStale shows a correction beside what somebody else stored in the
// meantime.
func (s *Service) renderCheckStale(w http.ResponseWriter, r *http.Request, season *logbook.Season, have,
	sent *logbook.Check, f *form.Form) error {
	m := s.compareChecks(r, "check_compare.stale_title", season, have, sent, f)
	m.Intro = staleIntro(m.Page, season, have.Entry)
	m.Action = ui.CheckPath(have.ID, "/correct")
	m.Hidden = append(m.Hidden, ui.Option{Value: "slot", Label: string(sent.Slot)}, form.RevisionField(have.Revision),
		ui.Option{Value: "reason", Label: f.Text("reason")},
		ui.Option{Value: "reason_text", Label: f.Text("reason_text")})
	m.Buttons = []CompareButton{{Label: m.T("compare.use_mine")}, {Label: m.T("compare.look_again"), Name: "review",
		Value: "1"}}
	m.Links = []ui.Option{{Value: ui.CheckPath(have.ID), Label: m.T("compare.keep_stored")}}
	return s.Render(w, r, http.StatusConflict, EntryComparePage(m))
}

func staleIntro(p ui.Page, season *logbook.Season, e logbook.Entry) string {
	by := e.ChangedLabel
	if by == "" {
		by = words.Word(p.P, e.ChangedBy)
	}
	return p.T("compare.stale_intro", map[string]any{"At": p.P.When(e.ChangedAt, season.Site.Location()), "By": by,
		"Reason": words.ReasonText(p.P, e.Reason)})
}

// compareChecks puts two checks side by side and carries the sent values on.
func (s *Service) compareChecks(r *http.Request, titleKey string, season *logbook.Season, have, sent *logbook.Check,
	f *form.Form) EntryCompare {
	m := EntryCompare{Page: s.EntryPage(r, titleKey, season), Tank: season.Tank.Name, Site: season.Site.Name,
		TankHref: ui.SeasonPath(season.ID)}
	m.Error = true
	for _, field := range words.CheckFields {
		a, b := words.CheckText(m.P, have, field), words.CheckText(m.P, sent, field)
		if a == "" && b == "" {
			continue
		}
		m.Rows = append(m.Rows, CompareRow{Label: ui.CheckFieldLabel(m.Page, field, m.P.UnitSymbol()), Stored: a,
			Sent: b, Differs: a != b})
	}
	for _, field := range words.CheckFields {
		if x := f.Raw(field); x != "" && field != "slot" && field != "on" {
			m.Hidden = append(m.Hidden, ui.Option{Value: field, Label: x})
		}
	}
	m.Hidden = append(m.Hidden, ui.Option{Value: "on", Label: sent.On.String()})
	for _, field := range sent.Confirmed {
		m.Hidden = append(m.Hidden, ui.Option{Value: "confirm", Label: field})
	}
	return m
}

package web

import (
	"net/http"

	"github.com/go-chi/chi/v5"

	"reddside/internal/logbook"
	"reddside/internal/web/view"
)

// renderCheckTaken shows a sent check beside the one that holds its day and
// slot: see it, correct it with the new values, or add an extra check. Nothing
// typed is lost: every way on carries the values.
func (s *Server) renderCheckTaken(w http.ResponseWriter, r *http.Request, season *logbook.Season, have, sent *logbook.Check, f *form) error {
	v := visitOf(r)
	m := s.compareChecks(r, "check_compare.title", season, have, sent, f)
	m.Intro = m.T("check_compare.intro", map[string]any{"On": have.On, "At": enteredAt(m.P, season, have), "By": enteredBy(m.P, have)})
	if id := logbook.ID(chi.URLParam(r, "checkID")); id != "" {
		// A correction that moved a check to a taken day: it may take a free slot.
		m.Action = "/checks/" + string(id) + "/correct"
		m.Hidden = append(m.Hidden, view.Option{Value: "revision", Label: f.text("revision")},
			view.Option{Value: "reason", Label: f.text("reason")}, view.Option{Value: "reason_text", Label: f.text("reason_text")})
	} else {
		m.Action, m.Held = "/seasons/"+string(season.ID)+"/checks", formKey(f.text("key"))
		m.Hidden = append(m.Hidden, view.Option{Value: "key", Label: string(logbook.NewID())})
		if mayCorrect(v.actor, have, s.today(season.Site, v.now)) {
			m.Buttons = append(m.Buttons, view.CompareButton{Label: m.T("check_compare.correct"),
				Action: "/checks/" + string(have.ID) + "/correct", Name: "review", Value: reviewJoined})
			m.Hidden = append(m.Hidden, revisionField(have.Revision))
		}
	}
	if slot, all := freeSlot(season, sent.On); !all {
		if slot == logbook.Morning { // stored since the season was read
			slot = "extra"
		}
		m.Buttons = append(m.Buttons, view.CompareButton{Label: m.T("check_compare.extra"), Name: "slot", Value: string(slot)})
	}
	m.Links = []view.Option{{Value: "/checks/" + string(have.ID), Label: m.T("check_compare.see")}}
	return s.render(w, r, http.StatusConflict, view.EntryComparePage(m))
}

// renderCheckStale shows a correction beside what somebody else stored in the
// meantime.
func (s *Server) renderCheckStale(w http.ResponseWriter, r *http.Request, season *logbook.Season, have, sent *logbook.Check, f *form) error {
	m := s.compareChecks(r, "check_compare.stale_title", season, have, sent, f)
	m.Intro = staleIntro(m.Page, season, have.Entry)
	m.Action = "/checks/" + string(have.ID) + "/correct"
	m.Hidden = append(m.Hidden, view.Option{Value: "slot", Label: string(sent.Slot)}, revisionField(have.Revision),
		view.Option{Value: "reason", Label: f.text("reason")}, view.Option{Value: "reason_text", Label: f.text("reason_text")})
	m.Buttons = []view.CompareButton{{Label: m.T("compare.use_mine")}, {Label: m.T("compare.look_again"), Name: "review", Value: "1"}}
	m.Links = []view.Option{{Value: "/checks/" + string(have.ID), Label: m.T("compare.keep_stored")}}
	return s.render(w, r, http.StatusConflict, view.EntryComparePage(m))
}

func staleIntro(p view.Page, season *logbook.Season, e logbook.Entry) string {
	by := e.ChangedLabel
	if by == "" {
		by = word(p.P, e.ChangedBy)
	}
	return p.T("compare.stale_intro", map[string]any{"At": p.P.When(e.ChangedAt, season.Site.Location()), "By": by, "Reason": reasonText(p.P, e.Reason)})
}

// compareChecks puts two checks side by side and carries the sent values on.
func (s *Server) compareChecks(r *http.Request, titleKey string, season *logbook.Season, have, sent *logbook.Check, f *form) view.EntryCompare {
	m := view.EntryCompare{Page: s.entryPage(r, titleKey, season), Tank: season.Tank.Name, Site: season.Site.Name,
		TankHref: "/seasons/" + string(season.ID)}
	m.Error = true
	for _, field := range checkFields {
		a, b := checkText(m.P, have, field), checkText(m.P, sent, field)
		if a == "" && b == "" {
			continue
		}
		m.Rows = append(m.Rows, view.CompareRow{Label: view.CheckFieldLabel(m.Page, field, m.P.UnitSymbol()), Stored: a, Sent: b, Differs: a != b})
	}
	for _, field := range checkFields {
		if x := f.raw(field); x != "" && field != "slot" && field != "on" {
			m.Hidden = append(m.Hidden, view.Option{Value: field, Label: x})
		}
	}
	m.Hidden = append(m.Hidden, view.Option{Value: "on", Label: sent.On.String()})
	for _, field := range sent.Confirmed {
		m.Hidden = append(m.Hidden, view.Option{Value: "confirm", Label: field})
	}
	return m
}

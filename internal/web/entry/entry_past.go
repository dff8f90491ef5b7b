package entry

import (
	"net/http"
	"strconv"

	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/web/ui"
	"reddside/internal/web/words"
)

// pastShown is how many old forms a page shows; a local choice.
const pastShown = 20

// entryHistory fills the newest old forms of an entry, or those before the revision
// that the address names, and returns who entered it when.
func (s *Service) entryHistory(r *http.Request, m *EntryShow, season *logbook.Season, id logbook.ID,
	e logbook.Entry) (string, error) {
	loc := season.Site.Location()
	entered := m.T("entry.entered", map[string]any{"At": m.P.When(e.ReceivedAt, loc), "By": words.ByRole(m.P, e)})
	if e.Revision <= 1 {
		return entered, nil
	}
	before, err := strconv.ParseInt(r.URL.Query().Get("before"), 10, 64)
	if err != nil || before < 1 {
		before = 0 // the newest
	}
	past, err := s.DB.RowHistoryBefore(r.Context(), id, before, pastShown+1)
	if err != nil {
		return "", err
	}
	if len(past) > pastShown {
		past = past[:pastShown]
		m.OlderHref = r.URL.Path + "?before=" + strconv.FormatInt(past[pastShown-1].Revision, 10) + "#past"
	}
	if before > 0 {
		m.NewestHref = r.URL.Path + "#past"
	}
	for _, old := range past {
		by := old.ByLabel
		if by == "" {
			by = words.Word(m.P, old.By)
		}
		o := EntryPast{Reason: m.T("entry.replaced", map[string]any{"At": m.P.When(old.At, loc), "By": by,
			"Reason": words.ReasonText(m.P, old.Reason)})}
		if o.Lines, err = pastLines(m.P, m.Page, &old); err != nil {
			return "", err
		}
		m.Past = append(m.Past, o)
	}
	return entered, nil
}

// pastLines is an old form line by line.
func pastLines(p *i18n.Printer, page ui.Page, old *store.Past) (out []ui.EntryLine, err error) {
	switch old.Table {
	case "checks":
		c, err := old.Check()
		if err != nil {
			return nil, err
		}
		for _, field := range words.CheckFields {
			if text := words.CheckText(p, &c, field); text != "" {
				out = append(out, ui.EntryLine{Label: ui.CheckFieldLabel(page, field, p.UnitSymbol()), Value: text})
			}
		}
	case "event":
		e, err := old.Event()
		if err != nil {
			return nil, err
		}
		out = eventLines(p, &e)
	case "sample":
		x, err := old.Sample()
		if err != nil {
			return nil, err
		}
		out = sampleLines(p, &x)
	}
	return out, nil
}

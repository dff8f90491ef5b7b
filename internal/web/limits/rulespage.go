package limits

import (
	"net/http"
	"strings"

	"github.com/go-chi/chi/v5"

	"reddside/internal/i18n"
	"reddside/internal/rules"
	"reddside/internal/units"
	"reddside/internal/web/req"
)

// rulesRoutes are the list of rules with today's thresholds.
func (s *Service) rulesRoutes(r chi.Router) {
	r.Get("/rules", s.Page(s.rulesShow))
}

func (s *Service) rulesShow(w http.ResponseWriter, r *http.Request) error {
	p := req.Of(r).P
	profile, err := s.Assess.Profile(r.Context())
	if err != nil {
		return err
	}
	m := Rules{Page: s.NewPage(r, "rules_page.title", "rules")}
	m.Styles = []string{"pieces.css", "tank.css"}
	m.finder, m.Changed = newFinder(r, p, "/rules"), changedLines(p, profile)
	for _, rule := range rules.All() {
		texts := []string{p.T(rule.Name.Key, rule.Name.Args), p.T(rule.Watches.Key, rule.Watches.Args),
			p.T(rule.Why.Key, rule.Why.Args)}
		for _, ref := range rule.Thresholds {
			texts = append(texts, p.T(ref.Limit.MessageKey()))
		}
		if !m.shows(rule.Family, texts...) {
			continue
		}
		if n := len(m.Families); n == 0 || m.Families[n-1].Family != rule.Family {
			m.Families = append(m.Families, RuleFamily{Family: rule.Family, Name: p.T(rule.Family.MessageKey())})
		}
		f := &m.Families[len(m.Families)-1]
		f.Rules = append(f.Rules, RuleCard{Rule: rule, Thresholds: thresholdRows(p, profile, rule)})
	}
	if len(m.Families) == 1 && len(m.Families[0].Rules) == 1 {
		m.Families[0].Rules[0].Open = true
	}
	return s.Render(w, r, http.StatusOK, RulesPage(m))
}

// changedLines are the limits with a value set here, each once.
func changedLines(p *i18n.Printer, profile *rules.Profile) []ThresholdLine {
	var out []ThresholdLine
	done := map[rules.Limit]bool{}
	for _, rule := range rules.All() {
		for _, ref := range rule.Thresholds {
			if done[ref.Limit] {
				continue
			}
			done[ref.Limit] = true
			for _, row := range profile.Rows(ref.Limit) {
				if row.Local != nil {
					out = append(out, thresholdLine(p, row))
				}
			}
		}
	}
	return out
}

// thresholdRows writes the thresholds of a rule: the stock value, and the local
// one beside it.
func thresholdRows(p *i18n.Printer, profile *rules.Profile, rule rules.Rule) []ThresholdRow {
	var out []ThresholdRow
	for _, ref := range rule.Thresholds {
		for _, row := range profile.Rows(ref.Limit) {
			t := ThresholdRow{Name: p.T(row.Limit.MessageKey()), Source: sourceText(p, row), Local: row.Local != nil}
			var scope []string
			if row.Species != "" {
				scope = append(scope, p.T(row.Species.MessageKey()))
			}
			if row.Stage != "" {
				scope = append(scope, p.T(row.Stage.MessageKey()))
			}
			t.Scope = strings.Join(scope, ", ")
			if row.HasStock {
				t.Stock = thresholdValue(p, row.Unit, row.Value)
			}
			t.InUse = thresholdValue(p, row.Unit, row.InUse())
			if row.Local != nil {
				t.Reason = row.Local.Reason
			}
			out = append(out, t)
		}
	}
	return out
}

// sourceText names the source of a stock value and how it is known: a value
// recalled from memory must not pass for a quoted one.
func sourceText(p *i18n.Printer, row rules.Row) string {
	if row.Local != nil && row.Local.Source != "" {
		return row.Local.Source
	}
	if row.Source == "" {
		return ""
	}
	return row.Source + " (" + p.T(row.Known.MessageKey()) + ")"
}

// thresholdValue writes a value with its unit, temperatures in the reader's.
func thresholdValue(p *i18n.Printer, unit string, v float64) string {
	switch unit {
	case "Cel":
		return p.Temp(units.Celsius(v))
	case "K":
		return p.TempDelta(units.CelsiusDelta(v))
	case "d":
		return p.T("rules_page.days", map[string]any{"N": p.Sig(v)})
	case "h":
		return p.Sig(v) + "\u00a0h"
	case "1", "[pH]":
		return p.Sig(v)
	case "%":
		return p.T("format.percent", map[string]any{"Value": p.Sig(v)})
	}
	return p.Sig(v) + "\u00a0" + unit
}

package web

import (
	"context"
	"errors"
	"math"
	"net/http"
	"slices"

	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/rules"
	"reddside/internal/stats"
	"reddside/internal/store"
	"reddside/internal/units"
	"reddside/internal/web/view"
)

// ownRate is one setting of the dead-count rule, as it is and as the programme's
// own closed seasons say.
type ownRate struct {
	limit    rules.Limit
	now, own float64
}

// recalibration is what the closed seasons of the programme say.
type recalibration struct {
	seasons, checks, confirmed int
	older                      int       // closed seasons that were left out
	rates                      []ownRate // empty when there are too few checks
}

// recalibrate reads the newest closed seasons and works out the usual deaths of the
// programme and their scatter.
func (s *Server) recalibrate(ctx context.Context) (recalibration, error) {
	var out recalibration
	profile, err := s.profile(ctx)
	if err != nil {
		return out, err
	}
	heads, err := s.db.SeasonHeads(ctx, store.SeasonFilter{})
	if err != nil {
		return out, err
	}
	heads = slices.DeleteFunc(heads, func(h store.SeasonHead) bool { return !h.Closed })
	out.older = max(0, len(heads)-lookBackSeasons)
	var past []stats.PastCheck
	err = s.db.LoadSeasons(ctx, lookBackIDs(heads), func(season *logbook.Season) error {
		a := evidence{}.forecast(season, season.ClosedOn)
		checks := rules.PastChecks(season, season.ClosedOn, &a, profile)
		if len(checks) == 0 {
			return nil
		}
		out.seasons++
		for _, c := range checks {
			if c.Confirmed {
				out.confirmed++
			}
		}
		past = append(past, checks...)
		return nil
	})
	if err != nil {
		return out, err
	}
	out.checks = len(past)
	cfg, _ := profile.DeadConfig()
	own, err := stats.Recalibrate(cfg, past)
	if errors.Is(err, stats.ErrTooFew) {
		return out, nil
	}
	if err != nil {
		return out, err
	}
	for stage, limit := range rules.DeadRateLimits() {
		out.rates = append(out.rates, ownRate{limit, cfg.Rates[stage], roundSig(own.Rates[stage])})
	}
	out.rates = append(out.rates, ownRate{rules.DeadScatter, cfg.Phi, roundSig(own.Phi)})
	return out, nil
}

// roundSig keeps three digits: more would pretend to be known.
func roundSig(v float64) float64 {
	if v == 0 {
		return 0
	}
	unit := math.Pow(10, math.Floor(math.Log10(math.Abs(v)))-2)
	return math.Round(v/unit) * unit
}

func (s *Server) recalibrationShow(w http.ResponseWriter, r *http.Request) error {
	rec, err := s.recalibrate(r.Context())
	if err != nil {
		return err
	}
	return s.render(w, r, http.StatusOK, view.RecalibrationPage(s.recalibrationModel(r, rec)))
}

func (s *Server) recalibrationModel(r *http.Request, rec recalibration) view.Recalibration {
	p := visitOf(r).p
	m := view.Recalibration{Page: s.newPage(r, "recalibrate.title", "rules"),
		Found: p.T("recalibrate.found", logbook.Args{"Seasons": rec.seasons, "Checks": rec.checks, "Confirmed": rec.confirmed}),
		Table: view.DataTable{Caption: p.T("recalibrate.table"), Columns: []view.DataColumn{{Label: p.T("rules_page.threshold")},
			{Label: p.T("recalibrate.now"), Number: true}, {Label: p.T("recalibrate.own"), Number: true}}},
		Reason: view.Field{Name: "reason", Label: p.T("threshold.reason"), Hint: p.T("threshold.reason_hint")}}
	m.Styles = []string{"pieces.css", "tank.css", "flags.css"}
	if rec.older > 0 {
		m.Found += " " + p.T("recalibrate.newest", logbook.Args{"Count": lookBackSeasons})
	}
	if len(rec.rates) == 0 {
		m.TooFew = p.T("recalibrate.too_few", logbook.Args{"Count": stats.MinRecalibration})
	}
	for _, x := range rec.rates {
		m.Table.Rows = append(m.Table.Rows, []string{p.T(x.limit.MessageKey()), rateText(p, x.limit, x.now), rateText(p, x.limit, x.own)})
	}
	return m
}

// rateText writes a death rate as deaths a day in a thousand.
func rateText(p *i18n.Printer, l rules.Limit, v float64) string {
	if l == rules.DeadScatter {
		return p.Num(v, 2)
	}
	return p.T("recalibrate.per_thousand", logbook.Args{"Rate": p.Num(v*1000, 2)})
}

// recalibrationAdopt stores the programme's own rates as its local limits, with
// a reason. What is stored is worked out anew, not taken from the page.
func (s *Server) recalibrationAdopt(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	in, err := readForm(r)
	if err != nil {
		return err
	}
	rec, err := s.recalibrate(r.Context())
	if err != nil {
		return err
	}
	reason := in.text("reason")
	switch {
	case reason == "":
		in.fail("reason", "error.reason", nil)
	case len([]rune(reason)) > maxReason:
		in.fail("reason", "entry.too_long", logbook.Args{"Max": maxReason})
	}
	if len(rec.rates) == 0 || len(in.problems) > 0 {
		m := s.recalibrationModel(r, rec)
		m.Error, m.Reason.Value = true, in.raw("reason")
		m.Problems = showProblems(v.p, in.problems, func(f string) string { return v.p.T("threshold." + f) })
		return s.render(w, r, http.StatusUnprocessableEntity, view.RecalibrationPage(m))
	}
	own, check, err := s.ownThresholds(r.Context())
	if err != nil {
		return err
	}
	revision := map[string]int64{}
	for _, t := range own {
		if t.Species == "" && t.Stage == "" {
			revision[t.Key] = t.Revision
		}
	}
	var rates []store.Threshold
	for _, x := range rec.rates {
		rates = append(rates, store.Threshold{Key: x.limit.String(), Value: units.Some(x.own),
			Entry: logbook.Entry{Revision: revision[x.limit.String()]}})
	}
	if _, err := s.db.SetThresholds(r.Context(), v.actor, rates, reason, v.now, check); err != nil {
		return err
	}
	s.sessions.Put(r.Context(), keyNotice, v.p.T("recalibrate.done"))
	http.Redirect(w, r, "/rules/recalibration", http.StatusSeeOther)
	return nil
}

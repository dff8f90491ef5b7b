package limits

import (
	"context"
	"errors"
	"math"
	"net/http"
	"slices"

	"reddside/internal/assess"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/rules"
	"reddside/internal/stats"
	"reddside/internal/store"
	"reddside/internal/units"
	"reddside/internal/web/form"
	"reddside/internal/web/req"
	"reddside/internal/web/ui"
)

// ownRate is one setting of the dead-count rule, as it is and as the programme's
// own closed seasons say.
type ownRate struct {
	limit    rules.Limit
	now, Own float64
}

// recalibration is what the closed seasons of the programme say.
type recalibration struct {
	Seasons, Checks, Confirmed int
	older                      int       // closed seasons that were left out
	Rates                      []ownRate // empty when there are too few checks
}

// Recalibrate reads the newest closed seasons and works out the usual deaths of the
// programme and their scatter.
func (s *Service) Recalibrate(ctx context.Context) (recalibration, error) {
	var out recalibration
	profile, err := s.Assess.Profile(ctx)
	if err != nil {
		return out, err
	}
	heads, err := s.DB.SeasonHeads(ctx, store.SeasonFilter{})
	if err != nil {
		return out, err
	}
	heads = slices.DeleteFunc(heads, func(h store.SeasonHead) bool { return !h.Closed })
	out.older = max(0, len(heads)-lookBackSeasons)
	var past []stats.PastCheck
	err = s.DB.LoadSeasons(ctx, LookBackIDs(heads), func(season *logbook.Season) error {
		a := assess.Evidence{}.Forecast(season, season.ClosedOn)
		checks := rules.PastChecks(season, season.ClosedOn, &a, profile)
		if len(checks) == 0 {
			return nil
		}
		out.Seasons++
		for _, c := range checks {
			if c.Confirmed {
				out.Confirmed++
			}
		}
		past = append(past, checks...)
		return nil
	})
	if err != nil {
		return out, err
	}
	out.Checks = len(past)
	cfg, _ := profile.DeadConfig()
	own, err := stats.Recalibrate(cfg, past)
	if errors.Is(err, stats.ErrTooFew) {
		return out, nil
	}
	if err != nil {
		return out, err
	}
	for stage, limit := range rules.DeadRateLimits() {
		out.Rates = append(out.Rates, ownRate{limit, cfg.Rates[stage], roundSig(own.Rates[stage])})
	}
	out.Rates = append(out.Rates, ownRate{rules.DeadScatter, cfg.Phi, roundSig(own.Phi)})
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

func (s *Service) recalibrationShow(w http.ResponseWriter, r *http.Request) error {
	rec, err := s.Recalibrate(r.Context())
	if err != nil {
		return err
	}
	return s.Render(w, r, http.StatusOK, RecalibrationPage(s.recalibrationModel(r, rec)))
}

func (s *Service) recalibrationModel(r *http.Request, rec recalibration) Recalibration {
	p := req.Of(r).P
	m := Recalibration{Page: s.NewPage(r, "recalibrate.title", "rules"),
		Found: p.T("recalibrate.found", logbook.Args{"Seasons": rec.Seasons, "Checks": rec.Checks,
			"Confirmed": rec.Confirmed}),
		Table: ui.DataTable{Caption: p.T("recalibrate.table"),
			Columns: []ui.DataColumn{{Label: p.T("rules_page.threshold")},
				{Label: p.T("recalibrate.now"), Number: true}, {Label: p.T("recalibrate.own"), Number: true}}},
		Reason: ui.Field{Name: "reason", Label: p.T("threshold.reason"), Hint: p.T("threshold.reason_hint")}}
	m.Styles = []string{"pieces.css", "tank.css", "flags.css"}
	if rec.older > 0 {
		m.Found += " " + p.T("recalibrate.newest", logbook.Args{"Count": lookBackSeasons})
	}
	if len(rec.Rates) == 0 {
		m.TooFew = p.T("recalibrate.too_few", logbook.Args{"Count": stats.MinRecalibration})
	}
	for _, x := range rec.Rates {
		m.Table.Rows = append(m.Table.Rows, []string{p.T(x.limit.MessageKey()), rateText(p, x.limit, x.now),
			rateText(p, x.limit, x.Own)})
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
func (s *Service) recalibrationAdopt(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	in, err := form.ReadForm(r)
	if err != nil {
		return err
	}
	rec, err := s.Recalibrate(r.Context())
	if err != nil {
		return err
	}
	reason := in.Text("reason")
	switch {
	case reason == "":
		in.Fail("reason", "error.reason", nil)
	case len([]rune(reason)) > logbook.MaxReason:
		in.Fail("reason", "entry.too_long", logbook.Args{"Max": logbook.MaxReason})
	}
	if len(rec.Rates) == 0 || len(in.Problems) > 0 {
		m := s.recalibrationModel(r, rec)
		m.Error, m.Reason.Value = true, in.Raw("reason")
		m.Problems = form.ShowProblems(v.P, in.Problems, func(f string) string { return v.P.T("threshold." + f) })
		return s.Render(w, r, http.StatusUnprocessableEntity, RecalibrationPage(m))
	}
	own, check, err := s.Assess.OwnThresholds(r.Context())
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
	for _, x := range rec.Rates {
		rates = append(rates, store.Threshold{Key: x.limit.String(), Value: units.Some(x.Own),
			Entry: logbook.Entry{Revision: revision[x.limit.String()]}})
	}
	if _, err := s.DB.SetThresholds(r.Context(), v.Actor, rates, reason, v.Now, check); err != nil {
		return err
	}
	s.Sessions.Put(r.Context(), req.KeyNotice, v.P.T("recalibrate.done"))
	http.Redirect(w, r, "/rules/recalibration", http.StatusSeeOther)
	return nil
}

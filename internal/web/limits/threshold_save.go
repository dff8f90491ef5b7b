package limits

import (
	"net/http"

	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/rules"
	"reddside/internal/store"
	"reddside/internal/units"
	"reddside/internal/web/form"
	"reddside/internal/web/req"
	"reddside/internal/web/words"
)

func (s *Service) thresholdSave(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	c, err := s.chosenOf(r)
	if err != nil {
		return err
	}
	in, err := form.ReadForm(r)
	if err != nil {
		return err
	}
	doing := in.Raw("do")
	value, reason := units.None[float64](), in.Text("reason")
	if doing != "stock" {
		if value = readThreshold(in, v.P, "value", c.row.Unit); !value.OK && !in.Has("value") {
			in.Fail("value", "threshold.empty", nil)
		}
	}
	if reason == "" && doing != "preview" {
		in.Fail("reason", "error.reason", nil)
	}
	if len([]rune(reason)) > logbook.MaxReason {
		in.Fail("reason", "entry.too_long", logbook.Args{"Max": logbook.MaxReason})
	}
	revision, key := logbook.ParseCount(in.Raw("revision"))
	if key != "" {
		revision = int(c.stored.Revision)
	}
	changed := c.tryOut(in, v.P, value, reason)
	if len(in.Problems) == 0 && doing != "preview" {
		_, check, err := s.Assess.OwnThresholds(r.Context())
		if err != nil {
			return err
		}
		_, err = s.DB.SetThreshold(r.Context(), v.Actor, store.Threshold{Key: c.limit.String(), Species: c.species,
			Stage: c.stage, Value: value,
			Entry: logbook.Entry{Revision: int64(revision)}}, reason, v.Now, check)
		if err == nil {
			s.Sessions.Put(r.Context(), req.KeyNotice, v.P.T("threshold.saved"))
			http.Redirect(w, r, thresholdPath(c.limit, c.species, c.stage), http.StatusSeeOther)
			return nil
		}
		// The limits of somebody who saved meanwhile may not go with this one, or
		// are of this very limit: the page shows them beside what was typed.
		if req.IsStale(err) {
			in.Fail("value", "error.stale", nil)
			if c, err = s.chosenOf(r); err != nil {
				return err
			}
		} else if !thresholdRefused(in, v.P, c.row.Unit, err) {
			return err
		}
	}
	m, err := s.thresholdModel(r, &c)
	if err != nil {
		return err
	}
	m.Value.Value, m.Reason.Value = in.Raw("value"), in.Raw("reason")
	status := http.StatusOK
	if len(in.Problems) > 0 {
		m.Error, status = true, req.StatusWith(in.Problems)
		m.Problems = form.ShowProblems(v.P, in.Problems, func(f string) string { return v.P.T("threshold." + f) })
	} else {
		back, err := s.lookBack(r.Context(), v.Now, c.profile, changed)
		if err != nil {
			return err
		}
		m.Preview = previewOf(v.P, &back)
	}
	return s.Render(w, r, status, ThresholdPage(m))
}

// tryOut makes the profile with the new value; what does not fit becomes a
// problem of the form.
func (c *chosen) tryOut(in *form.Form, p *i18n.Printer, value units.Optional[float64], reason string) *rules.Profile {
	if len(in.Problems) > 0 {
		return nil
	}
	if reason == "" {
		reason = "preview"
	}
	changed, err := c.with(value, reason)
	thresholdRefused(in, p, c.row.Unit, err)
	return changed
}

// previewOf writes what would have been different.
func previewOf(p *i18n.Printer, back *lookBack) *ThresholdPreview {
	gone, fresh := differences(back.now.Episodes, back.new.Episodes)
	out := &ThresholdPreview{Same: len(gone)+len(fresh) == 0}
	line := func(key string, r *rules.Report) string {
		act, watch := r.Count(rules.Act), r.Count(rules.Watch)
		return p.T(key, logbook.Args{"Act": act, "Watch": watch, "Other": len(r.Episodes) - act - watch})
	}
	seen := p.T("threshold.preview.seasons", logbook.Args{"Count": len(back.seasons)})
	if back.all > lookBackSeasons {
		seen = p.T("threshold.preview.some", logbook.Args{"Count": len(back.seasons), "All": back.all})
	}
	out.Lines = []string{seen,
		line("threshold.preview.now", &back.now), line("threshold.preview.new", &back.new)}
	add := func(list []rules.Episode, key string) {
		for _, e := range list {
			if len(out.Rows) == maxDifferences {
				out.More = true
				return
			}
			s := back.seasons[e.Season]
			row := PreviewRow{What: p.T(key), Kind: e.Kind, Rule: words.RuleName(p, e.Rule), Tank: s.Tank.Name + ", " +
				s.Site.Name + ", " + s.Label,
				When: p.T("flag.since", logbook.Args{"Since": p.DateShort(e.Raised)})}
			if !e.Cleared.IsZero() {
				row.When = p.T("tank.span", logbook.Args{"From": p.DateShort(e.Raised), "To": p.DateShort(e.Cleared)})
			}
			out.Rows = append(out.Rows, row)
		}
	}
	add(fresh, "threshold.preview.fresh")
	add(gone, "threshold.preview.gone")
	return out
}

// maxDifferences bounds the list of a preview.
const maxDifferences = 60

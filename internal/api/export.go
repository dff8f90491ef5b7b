package api

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"net/http"
	"time"

	"reddside/internal/logbook"
	"reddside/internal/report"
	"reddside/internal/store"
	"reddside/internal/web/form"
	"reddside/internal/web/req"
)

// Export writes the logbook, as far as the actor may see it, as a zip of CSV
// files with their description. Left out are secrets of sign-in and the pictures
// of photographs. All of it is as it stood in one moment.
func Export(ctx context.Context, db *store.DB, actor logbook.Actor, now time.Time, w io.Writer) error {
	ctx, done := db.Snapshot(ctx)
	defer done()
	e := report.NewExport()
	title := "Reddside"
	p, err := db.Programme(ctx)
	switch {
	case err == nil:
		title = p.Name
	case logbook.KindOf(err) != logbook.NotFound:
		return err
	}
	if err := exportPlaces(ctx, db, actor, e); err != nil {
		return err
	}
	permits, err := db.Permits(ctx)
	if err != nil {
		return err
	}
	places, err := db.ReleasePlaces(ctx)
	if err != nil {
		return err
	}
	if err := e.Permits(permits, places); err != nil {
		return err
	}
	heads, err := db.SeasonHeads(ctx, store.SeasonFilter{SiteID: actor.SiteID})
	if err != nil {
		return err
	}
	ids, used := make([]logbook.ID, 0, len(heads)), map[logbook.ID]bool{}
	for _, h := range heads {
		ids = append(ids, h.ID)
		used[h.LotID] = true
	}
	lots, err := db.Lots(ctx)
	if err != nil {
		return err
	}
	for i := range lots {
		if actor.Role == logbook.Coordinator || used[lots[i].ID] {
			if err := e.Lot(&lots[i]); err != nil {
				return err
			}
		}
	}
	out, err := db.Outside(ctx)
	if err != nil {
		return err
	}
	if err := db.LoadSeasons(ctx, ids, func(s *logbook.Season) error {
		return e.Season(s, report.Voided{Deliveries: out.Deliveries[s.ID], Events: out.Events[s.ID],
			Releases: out.Releases[s.ID],
			Plans:    out.Plans[s.ID], Guesses: out.Guesses[s.ID], Samples: out.Samples[s.ID]})
	}); err != nil {
		return err
	}
	for _, id := range ids {
		notes, err := db.Notes(ctx, id)
		if err != nil {
			return err
		}
		if err := e.Notes(id, notes); err != nil {
			return err
		}
		if err := exportFlags(ctx, db, id, e); err != nil {
			return err
		}
		past, err := db.History(ctx, id)
		if err != nil {
			return err
		}
		if err := e.History(historyRows(id, past)); err != nil {
			return err
		}
	}
	past, err := db.HistoryAbove(ctx, actor.SiteID)
	if err != nil {
		return err
	}
	if err := e.History(historyRows("", past)); err != nil {
		return err
	}
	return e.Write(w, title, now)
}

func historyRows(season logbook.ID, past []store.Past) []report.HistoryRow {
	rows := make([]report.HistoryRow, len(past))
	for i := range past {
		p := &past[i]
		rows[i] = report.HistoryRow{Season: season, Table: p.Table, Row: p.RowID, Revision: p.Revision,
			Was: string(p.Row), Reason: p.Reason,
			At: p.At, Role: p.By, By: p.ByLabel}
	}
	return rows
}

func exportPlaces(ctx context.Context, db *store.DB, actor logbook.Actor, e *report.Export) error {
	sites, err := db.Sites(ctx)
	if err != nil {
		return err
	}
	for i := range sites {
		if !actor.MaySee(sites[i].ID) {
			continue
		}
		if err := e.Site(&sites[i]); err != nil {
			return err
		}
		if err := exportSchool(ctx, db, sites[i].ID, e); err != nil {
			return err
		}
	}
	tanks, err := db.Tanks(ctx, actor.SiteID)
	if err != nil {
		return err
	}
	for i := range tanks {
		if err := e.Tank(&tanks[i]); err != nil {
			return err
		}
	}
	return nil
}

// exportSchool adds what is kept of a school beside its tanks.
func exportSchool(ctx context.Context, db *store.DB, site logbook.ID, e *report.Export) (err error) {
	x := report.School{SiteID: site}
	if x.Kit, err = db.Kit(ctx, site); err != nil {
		return err
	}
	if x.Duty, err = db.DutyList(ctx, site); err != nil {
		return err
	}
	if x.ClosedDays, err = db.ClosedSpans(ctx, site); err != nil {
		return err
	}
	return e.School(&x)
}

// exportFlags adds the flags of a season with what was found, and its photographs
// in words.
func exportFlags(ctx context.Context, db *store.DB, season logbook.ID, e *report.Export) error {
	flags, err := db.Flags(ctx, season, true)
	if err != nil {
		return err
	}
	told, err := db.Findings(ctx, season)
	if err != nil {
		return err
	}
	photos, err := db.Photos(ctx, season)
	if err != nil {
		return err
	}
	var rows []report.FlagRow
	for i := range flags {
		f := &flags[i]
		rows = append(rows, report.FlagRow{ID: f.ID, Rule: f.Rule, Kind: f.Kind, RaisedOn: f.RaisedOn,
			Cleared: f.ClearedOn, SeenBy: f.SeenBy,
			ShelveReasonLabel: f.ShelveReason, EndWhy: f.EndWhy, EndIn: f.EndIn})
	}
	var found []report.FindingRow
	for i := range told {
		f := &told[i]
		found = append(found, report.FindingRow{FlagID: f.FlagID, What: string(f.What), Note: f.Note, At: f.At,
			Role: f.Role, By: f.By})
	}
	return e.Flags(season, rows, found, photos)
}

func (s *Service) apiExport(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	if err := form.NoQuery(r); err != nil {
		return err
	}
	var b bytes.Buffer // so that an error leaves no half file
	if err := Export(r.Context(), s.DB, v.Actor, v.Now, &b); err != nil {
		return err
	}
	s.Log.Info("exported", "id", v.ID, "role", v.Actor.Role)
	h := w.Header()
	h.Set("Content-Type", "application/zip")
	h.Set("Cache-Control", "no-store")
	h.Set("Content-Disposition", fmt.Sprintf(`attachment; filename="reddside-%s.zip"`,
		v.Now.UTC().Format("2006-01-02")))
	_, _ = w.Write(b.Bytes()) // a client that went away is no error of ours
	return nil
}

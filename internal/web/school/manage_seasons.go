package school

import (
	"net/http"
	"strconv"

	"reddside/internal/entries"
	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/web/form"
	"reddside/internal/web/req"
	"reddside/internal/web/ui"
	"reddside/internal/web/words"
)

func (s *Service) lotList(w http.ResponseWriter, r *http.Request) error {
	p := req.Of(r).P
	lots, err := s.DB.Lots(r.Context())
	if err != nil {
		return err
	}
	m := LotList{Page: s.NewPage(r, "lot.list", "lots")}
	for _, l := range lots {
		m.Rows = append(m.Rows, LotRow{ID: string(l.ID), Code: l.Code, Species: p.T(l.Species.MessageKey()),
			Supplier: l.Supplier,
			Stock:    l.Stock, Fertilised: p.Date(l.FertilisedOn)})
	}
	return s.Render(w, r, http.StatusOK, LotListPage(m))
}

func (s *Service) lotNew(w http.ResponseWriter, r *http.Request) error {
	return s.lotNewForm(w, r, form.NewForm())
}

func (s *Service) lotNewForm(w http.ResponseWriter, r *http.Request, f *form.Form) error {
	b := s.lotItems(req.Of(r).P, f)
	return s.ShowForm(w, r, s.FormPage(r, b, "new", "lots", "/lots", "/lots"), b, f.Problems)
}

func (s *Service) lotCreate(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	f, err := form.ReadForm(r)
	if err != nil {
		return err
	}
	l := readLot(f, logbook.Lot{}, v.ProgrammeToday())
	if len(f.Problems) > 0 {
		return s.lotNewForm(w, r, f)
	}
	if _, err := s.DB.CreateLot(r.Context(), v.Actor, l, v.Now, store.IdempotencyKey{}); err != nil {
		return err
	}
	return s.Saved(w, r, "/lots")
}

func (s *Service) lotEdit(w http.ResponseWriter, r *http.Request) error {
	l, err := s.LotOf(r)
	if err != nil {
		return err
	}
	return s.lotEditForm(w, r, l, lotForm(l))
}

func (s *Service) lotEditForm(w http.ResponseWriter, r *http.Request, l logbook.Lot, f *form.Form) error {
	b := s.lotItems(req.Of(r).P, f)
	v := s.FormPage(r, b, "edit", "lots", ui.LotPath(l.ID, "/edit"), "/lots")
	v.Hidden = []ui.Option{form.RevisionField(l.Edits)}
	return s.ShowForm(w, r, v, b, f.Problems)
}

func (s *Service) lotUpdate(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	l, err := s.LotOf(r)
	if err != nil {
		return err
	}
	f, err := form.ReadForm(r)
	if err != nil {
		return err
	}
	l.Edits = f.Revision()
	l = readLot(f, l, v.ProgrammeToday())
	if len(f.Problems) > 0 {
		return s.lotEditForm(w, r, l, f)
	}
	_, err = s.DB.UpdateLot(r.Context(), v.Actor, l, v.Now)
	if req.IsStale(err) {
		now, err := s.LotOf(r)
		if err != nil {
			return err
		}
		f.EditConflict(lotForm(now), now.Edits)
		return s.lotEditForm(w, r, now, f)
	}
	if err != nil {
		return err
	}
	return s.Saved(w, r, "/lots")
}

func (s *Service) seasonNew(w http.ResponseWriter, r *http.Request) error {
	t, site, err := s.TankOf(r)
	if err != nil {
		return err
	}
	f := form.NewForm()
	f.Set("key", string(logbook.NewID()))
	return s.seasonNewForm(w, r, t, site, f)
}

func (s *Service) seasonNewForm(w http.ResponseWriter, r *http.Request, t logbook.Tank, site logbook.Site,
	f *form.Form) error {
	p := s.InSite(req.Of(r), site)
	options, lots, err := s.LotOptions(r)
	if err != nil {
		return err
	}
	if len(lots) == 0 {
		http.Redirect(w, r, "/lots/new", http.StatusSeeOther)
		return nil
	}
	b := form.FormItems(s.Cat, p, "delivery")
	b.Pick("lot", f.Raw("lot"), options)
	b.List = append(b.List, s.deliveryItems(p, f, site).List...)
	b.Date("release_from", f.Raw("release_from"), true)
	b.Date("release_by", f.Raw("release_by"), true)
	v := s.FormPage(r, b, "season", "sites", ui.TankPath(t.ID, "/seasons"), ui.SitePath(site.ID))
	v.Hidden = []ui.Option{{Value: "key", Label: f.Raw("key")}}
	v.Title = p.T("delivery.season", logbook.Args{"Tank": t.Name})
	v.Intro = p.T("delivery.intro")
	return s.ShowForm(w, r, v, b, f.Problems)
}

// readLotChoice reads which lot is meant.
func (s *Service) readLotChoice(r *http.Request, f *form.Form) (logbook.Lot, error) {
	if f.Text("lot") == "" {
		f.Fail("lot", "choice.empty", nil)
		return logbook.Lot{}, nil
	}
	l, err := s.DB.Lot(r.Context(), logbook.ID(f.Text("lot")))
	if logbook.KindOf(err) == logbook.NotFound {
		f.Fail("lot", "choice.unknown", nil)
		return l, nil
	}
	return l, err
}

func (s *Service) seasonCreate(w http.ResponseWriter, r *http.Request) error {
	t, site, err := s.TankOf(r)
	if err != nil {
		return err
	}
	f, err := form.ReadForm(r)
	if err != nil {
		return err
	}
	lot, err := s.readLotChoice(r, f)
	if err != nil {
		return err
	}
	d := req.ReadDelivery(f, logbook.Delivery{}, site)
	season := logbook.Season{Label: words.SeasonLabel(d.On), Site: site, Tank: t, Lot: lot,
		ReleaseFrom: f.Date("release_from"), ReleaseBy: f.Date("release_by")}
	out, err := s.Entries.StartSeason(r.Context(), req.Sent(r, &season, f), &d)
	if entries.IsMismatch(err) { // the Back button and other values: only the person knows
		f.Fail("on", "delivery.sent_before", nil)
		f.Set("key", string(logbook.NewID()))
	}
	if f.Refused(err); len(f.Problems) > 0 || f.LotRefused(err) {
		return s.seasonNewForm(w, r, t, site, f)
	}
	if err != nil {
		return err
	}
	return s.Saved(w, r, ui.SeasonPath(out.ID))
}

func (s *Service) seasonEdit(w http.ResponseWriter, r *http.Request) error {
	season, err := s.SeasonOf(r)
	if err != nil {
		return err
	}
	return s.seasonEditForm(w, r, season, seasonForm(season))
}

func seasonForm(season *logbook.Season) *form.Form {
	f := form.NewForm()
	f.Set("label", season.Label)
	f.Set("release_from", season.ReleaseFrom.String())
	f.Set("release_by", season.ReleaseBy.String())
	f.Set("closed_on", season.ClosedOn.String())
	return f
}

func (s *Service) seasonEditForm(w http.ResponseWriter, r *http.Request, season *logbook.Season, f *form.Form) error {
	b := form.FormItems(s.Cat, req.Of(r).P, "season")
	b.Text("label", f.Raw("label"))
	b.Date("release_from", f.Raw("release_from"), true)
	b.Date("release_by", f.Raw("release_by"), true)
	b.Date("closed_on", f.Raw("closed_on"), true)
	v := s.FormPage(r, b, "edit", "board", ui.SeasonPath(season.ID, "/edit"), ui.SeasonPath(season.ID))
	v.Hidden = []ui.Option{{Value: "revision", Label: strconv.FormatInt(season.Edits, 10)}}
	return s.ShowForm(w, r, v, b, f.Problems)
}

func (s *Service) seasonUpdate(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	season, err := s.SeasonOf(r)
	if err != nil {
		return err
	}
	f, err := form.ReadForm(r)
	if err != nil {
		return err
	}
	changed := *season
	changed.Edits = f.Revision()
	changed.Label = f.Text("label")
	form.ReadRelease(f, &changed, s.Assess.Today(season.Site, v.Now))
	changed.ClosedOn = f.Date("closed_on")
	f.Add(changed.ValidateEdit(season, s.Assess.Today(season.Site, v.Now)))
	if len(f.Problems) > 0 {
		return s.seasonEditForm(w, r, season, f)
	}
	_, err = s.DB.UpdateSeason(r.Context(), v.Actor, changed, v.Now)
	if req.IsStale(err) {
		now, err := s.SeasonOf(r)
		if err != nil {
			return err
		}
		f.EditConflict(seasonForm(now), now.Edits)
		return s.seasonEditForm(w, r, now, f)
	}
	if err != nil {
		return err
	}
	if err := s.Assess.SyncFlags(r.Context(), v.Actor, season.ID, v.Now); err != nil {
		return err
	}
	return s.Saved(w, r, ui.SeasonPath(season.ID))
}

func (s *Service) deliveryNew(w http.ResponseWriter, r *http.Request) error {
	season, err := s.SeasonOf(r)
	if err != nil {
		return err
	}
	f := form.NewForm()
	f.Set("key", string(logbook.NewID()))
	return s.deliveryNewForm(w, r, season, f)
}

func (s *Service) deliveryNewForm(w http.ResponseWriter, r *http.Request, season *logbook.Season, f *form.Form) error {
	b := s.deliveryItems(s.InSite(req.Of(r), season.Site), f, season.Site)
	v := s.FormPage(r, b, "new", "board", ui.SeasonPath(season.ID, "/deliveries"), ui.SeasonPath(season.ID))
	v.Hidden = []ui.Option{{Value: "key", Label: f.Raw("key")}}
	return s.ShowForm(w, r, v, b, f.Problems)
}

func (s *Service) deliveryCreate(w http.ResponseWriter, r *http.Request) error {
	season, err := s.SeasonOf(r)
	if err != nil {
		return err
	}
	f, err := form.ReadForm(r)
	if err != nil {
		return err
	}
	d := req.ReadDelivery(f, logbook.Delivery{SeasonID: season.ID}, season.Site)
	_, err = s.Entries.Deliveries().New(r.Context(), req.Sent(r, season, f), &d)
	if entries.IsMismatch(err) { // the Back button and other values: only the person knows
		f.Fail("on", "delivery.sent_before", nil)
		f.Set("key", string(logbook.NewID()))
	}
	if f.Refused(err); len(f.Problems) > 0 {
		return s.deliveryNewForm(w, r, season, f)
	}
	if err != nil {
		return err
	}
	return s.Saved(w, r, ui.SeasonPath(season.ID))
}

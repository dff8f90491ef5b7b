package web

import (
	"errors"
	"fmt"
	"net/http"
	"strconv"

	"github.com/go-chi/chi/v5"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/web/view"
)

func (s *Server) lotList(w http.ResponseWriter, r *http.Request) error {
	p := visitOf(r).p
	lots, err := s.db.Lots(r.Context())
	if err != nil {
		return err
	}
	m := view.LotList{Page: s.newPage(r, "lot.list", "lots")}
	for _, l := range lots {
		m.Rows = append(m.Rows, view.LotRow{ID: string(l.ID), Code: l.Code, Species: p.T(l.Species.MessageKey()), Supplier: l.Supplier,
			Stock: l.Stock, Fertilised: p.Date(l.FertilisedOn)})
	}
	return s.render(w, r, http.StatusOK, view.LotListPage(m))
}

func (s *Server) lotNew(w http.ResponseWriter, r *http.Request) error {
	return s.lotNewForm(w, r, newForm())
}

func (s *Server) lotNewForm(w http.ResponseWriter, r *http.Request, f *form) error {
	b := s.lotItems(visitOf(r).p, f)
	return s.showForm(w, r, s.formPage(r, b, "new", "lots", "/lots", "/lots"), b, f.problems)
}

// programmeToday is the date by which a lot is judged: lots belong to no site,
// so the latest date anywhere on earth counts.
func (v *visit) programmeToday() civil.Date { return civil.In(v.now.UTC(), lastZone) }

func (s *Server) lotCreate(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	f, err := readForm(r)
	if err != nil {
		return err
	}
	l := readLot(f, logbook.Lot{}, v.programmeToday())
	if len(f.problems) > 0 {
		return s.lotNewForm(w, r, f)
	}
	if _, err := s.db.CreateLot(r.Context(), v.actor, l, v.now, store.Once{}); err != nil {
		return err
	}
	return s.saved(w, r, "/lots")
}

func (s *Server) lotOf(r *http.Request) (logbook.Lot, error) {
	return s.db.Lot(r.Context(), logbook.ID(chi.URLParam(r, "lotID")))
}

func (s *Server) lotEdit(w http.ResponseWriter, r *http.Request) error {
	l, err := s.lotOf(r)
	if err != nil {
		return err
	}
	return s.lotEditForm(w, r, l, lotForm(l))
}

func (s *Server) lotEditForm(w http.ResponseWriter, r *http.Request, l logbook.Lot, f *form) error {
	b := s.lotItems(visitOf(r).p, f)
	v := s.formPage(r, b, "edit", "lots", "/lots/"+string(l.ID)+"/edit", "/lots")
	v.Hidden = []view.Option{revisionField(l.Edits)}
	return s.showForm(w, r, v, b, f.problems)
}

func (s *Server) lotUpdate(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	l, err := s.lotOf(r)
	if err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	l.Edits = f.revision()
	l = readLot(f, l, v.programmeToday())
	if len(f.problems) > 0 {
		return s.lotEditForm(w, r, l, f)
	}
	_, err = s.db.UpdateLot(r.Context(), v.actor, l, v.now)
	if isStale(err) {
		now, err := s.lotOf(r)
		if err != nil {
			return err
		}
		f.meanwhile(lotForm(now), now.Edits)
		return s.lotEditForm(w, r, now, f)
	}
	if err != nil {
		return err
	}
	return s.saved(w, r, "/lots")
}

// seasonLabel is the school year of a day: it changes on 1 July.
func seasonLabel(d civil.Date) string {
	y, m, _ := d.YMD()
	if m < 7 {
		y--
	}
	return fmt.Sprintf("%d-%02d", y, (y+1)%100)
}

// lotOptions are the lots that who asks may put in a tank.
func (s *Server) lotOptions(r *http.Request) ([]view.Option, []logbook.Lot, error) {
	p := visitOf(r).p
	lots, err := s.db.LotsFor(r.Context(), visitOf(r).actor)
	if err != nil {
		return nil, nil, err
	}
	var out []view.Option
	for _, l := range lots {
		out = append(out, view.Option{Value: string(l.ID), Label: l.Code + " – " + p.T(l.Species.MessageKey())})
	}
	return out, lots, nil
}

func (s *Server) seasonNew(w http.ResponseWriter, r *http.Request) error {
	t, site, err := s.tankOf(r)
	if err != nil {
		return err
	}
	return s.seasonNewForm(w, r, t, site, newForm())
}

func (s *Server) seasonNewForm(w http.ResponseWriter, r *http.Request, t logbook.Tank, site logbook.Site, f *form) error {
	p := s.inSite(visitOf(r), site)
	options, lots, err := s.lotOptions(r)
	if err != nil {
		return err
	}
	if len(lots) == 0 {
		http.Redirect(w, r, "/lots/new", http.StatusSeeOther)
		return nil
	}
	b := formItems(s.cat, p, "delivery")
	b.pick("lot", f.raw("lot"), options)
	b.list = append(b.list, s.deliveryItems(p, f, site).list...)
	b.date("release_from", f.raw("release_from"), true)
	b.date("release_by", f.raw("release_by"), true)
	v := s.formPage(r, b, "season", "sites", "/tanks/"+string(t.ID)+"/seasons", "/sites/"+string(site.ID))
	v.Title = p.T("delivery.season", logbook.Args{"Tank": t.Name})
	v.Intro = p.T("delivery.intro")
	return s.showForm(w, r, v, b, f.problems)
}

// readLotChoice reads which lot is meant.
func (s *Server) readLotChoice(r *http.Request, f *form) (logbook.Lot, error) {
	if f.text("lot") == "" {
		f.fail("lot", "choice.empty", nil)
		return logbook.Lot{}, nil
	}
	l, err := s.db.Lot(r.Context(), logbook.ID(f.text("lot")))
	if logbook.KindOf(err) == logbook.NotFound {
		f.fail("lot", "choice.unknown", nil)
		return l, nil
	}
	return l, err
}

// lotRefused puts beside the lot why its season cannot begin; false for another
// error.
func (f *form) lotRefused(err error) bool {
	var e *logbook.Error
	refused := errors.As(err, &e) && (e.Key == "error.season.open" || e.Key == "error.lot.elsewhere")
	if refused {
		f.fail("lot", e.Key, e.Args)
	}
	return refused
}

func readRelease(f *form, season *logbook.Season, today civil.Date) {
	season.ReleaseFrom, season.ReleaseBy = f.date("release_from"), f.date("release_by")
	f.add(season.ValidateRelease(today))
}

func (s *Server) seasonCreate(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	t, site, err := s.tankOf(r)
	if err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	lot, err := s.readLotChoice(r, f)
	if err != nil {
		return err
	}
	d := readDelivery(f, logbook.Delivery{}, lot, site, s.today(site, v.now))
	season := logbook.Season{Label: seasonLabel(d.On), Tank: t, Lot: lot}
	readRelease(f, &season, s.today(site, v.now))
	if len(f.problems) > 0 {
		return s.seasonNewForm(w, r, t, site, f)
	}
	out, err := s.db.StartSeason(r.Context(), v.actor, season, d, v.now, store.Once{})
	if f.lotRefused(err) {
		return s.seasonNewForm(w, r, t, site, f)
	}
	if err != nil {
		return err
	}
	if err := s.syncFlags(r.Context(), v.actor, out.ID, v.now); err != nil {
		return err
	}
	return s.saved(w, r, "/seasons/"+string(out.ID))
}

func (s *Server) seasonEdit(w http.ResponseWriter, r *http.Request) error {
	season, err := s.seasonOf(r)
	if err != nil {
		return err
	}
	return s.seasonEditForm(w, r, season, seasonForm(season))
}

func seasonForm(season *logbook.Season) *form {
	f := newForm()
	f.set("label", season.Label)
	f.set("release_from", season.ReleaseFrom.String())
	f.set("release_by", season.ReleaseBy.String())
	f.set("closed_on", season.ClosedOn.String())
	return f
}

func (s *Server) seasonEditForm(w http.ResponseWriter, r *http.Request, season *logbook.Season, f *form) error {
	b := formItems(s.cat, visitOf(r).p, "season")
	b.text("label", f.raw("label"))
	b.date("release_from", f.raw("release_from"), true)
	b.date("release_by", f.raw("release_by"), true)
	b.date("closed_on", f.raw("closed_on"), true)
	v := s.formPage(r, b, "edit", "board", "/seasons/"+string(season.ID)+"/edit", "/seasons/"+string(season.ID))
	v.Hidden = []view.Option{{Value: "revision", Label: strconv.FormatInt(season.Edits, 10)}}
	return s.showForm(w, r, v, b, f.problems)
}

func (s *Server) seasonUpdate(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	season, err := s.seasonOf(r)
	if err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	changed := *season
	changed.Edits = f.revision()
	changed.Label = f.text("label")
	readRelease(f, &changed, s.today(season.Site, v.now))
	changed.ClosedOn = f.date("closed_on")
	f.add(changed.ValidateDetails(s.today(season.Site, v.now)))
	if len(f.problems) > 0 {
		return s.seasonEditForm(w, r, season, f)
	}
	_, err = s.db.UpdateSeason(r.Context(), v.actor, changed, v.now)
	if isStale(err) {
		now, err := s.seasonOf(r)
		if err != nil {
			return err
		}
		f.meanwhile(seasonForm(now), now.Edits)
		return s.seasonEditForm(w, r, now, f)
	}
	if err != nil {
		return err
	}
	if err := s.syncFlags(r.Context(), v.actor, season.ID, v.now); err != nil {
		return err
	}
	return s.saved(w, r, "/seasons/"+string(season.ID))
}

func (s *Server) deliveryNew(w http.ResponseWriter, r *http.Request) error {
	season, err := s.seasonOf(r)
	if err != nil {
		return err
	}
	return s.deliveryNewForm(w, r, season, newForm())
}

func (s *Server) deliveryNewForm(w http.ResponseWriter, r *http.Request, season *logbook.Season, f *form) error {
	b := s.deliveryItems(s.inSite(visitOf(r), season.Site), f, season.Site)
	return s.showForm(w, r, s.formPage(r, b, "new", "board", "/seasons/"+string(season.ID)+"/deliveries", "/seasons/"+string(season.ID)), b, f.problems)
}

func (s *Server) deliveryCreate(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	season, err := s.seasonOf(r)
	if err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	d := readDelivery(f, logbook.Delivery{SeasonID: season.ID}, season.Lot, season.Site, s.today(season.Site, v.now))
	f.add(season.ValidateDelivery(d))
	if len(f.problems) > 0 {
		return s.deliveryNewForm(w, r, season, f)
	}
	if _, err := s.db.CreateDelivery(r.Context(), v.actor, d, v.now, store.Write{}); err != nil {
		return err
	}
	return s.saved(w, r, "/seasons/"+string(season.ID))
}

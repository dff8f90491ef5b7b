package api

import (
	"net/http"
	"slices"

	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/units"
	"reddside/internal/web/form"
	"reddside/internal/web/req"
	"reddside/internal/web/words"
)

// Sites, tanks and lots by JSON.

var (
	siteEdits = []string{"name", "zone", "altitude_m", "language", "temperature_unit", "weekends"}
	tankEdits = []string{"name", "volume_l", "wall", "setpoint_c", "has_chiller", "has_filter", "has_air_pump",
		"has_basket"}
	lotEdits = []string{"code", "species", "supplier", "stock", "fertilised_on", "egg_diameter_mm", "note"}
)

func readSiteJSON(o *form.Object) logbook.Site {
	return logbook.Site{Name: o.Text("name"), Zone: o.Text("zone"), Altitude: form.NumberOf[units.Metres](o,
		"altitude_m"),
		Language: o.Text("language"), TemperatureUnit: units.TemperatureUnit(o.Text("temperature_unit")),
		Weekends: words.ReadWeekends(o.Text("weekends"))}
}

func readTankJSON(o *form.Object) logbook.Tank {
	return logbook.Tank{Name: o.Text("name"), Volume: form.NumberOf[units.Litres](o, "volume_l").V,
		Wall:     logbook.Wall(o.Text("wall")),
		Setpoint: form.NumberOf[units.Celsius](o, "setpoint_c"), HasChiller: o.Flag("has_chiller"),
		HasFilter:  o.Flag("has_filter"),
		HasAirPump: o.Flag("has_air_pump"), HasBasket: o.Flag("has_basket")}
}

func readLotJSON(o *form.Object) logbook.Lot {
	return logbook.Lot{Code: o.Text("code"), Species: logbook.Species(o.Text("species")), Supplier: o.Text("supplier"),
		Stock:        o.Text("stock"),
		FertilisedOn: o.Date("fertilised_on"), EggDiameter: form.NumberOf[units.Millimetres](o, "egg_diameter_mm"),
		Note: o.Text("note")}
}

// refuseBody ends the reading of a body and, when all of it could be read,
// judges what it says.
func refuseBody(o *form.Object, judge func() []logbook.Problem) error {
	o.End()
	if len(*o.Problems) > 0 {
		return logbook.Refuse(*o.Problems)
	}
	return logbook.Refuse(judge())
}

// newRow reads the body and the key of a create.
func (s *Service) newRow(r *http.Request) (o *form.Object, once store.IdempotencyKey, err error) {
	if err = form.NoQuery(r); err != nil {
		return nil, once, err
	}
	if o, err = form.ReadObject(r); err != nil {
		return nil, once, err
	}
	once, _, err = s.once(r, o.Fields)
	return o, once, err
}

// created answers a create of a row without entry data.
func created(w http.ResponseWriter, path string, id logbook.ID, revision int64, row any) error {
	setETag(w, revision)
	w.Header().Set("Location", "/api/v1/"+path+"/"+string(id))
	return req.WriteJSON(w, http.StatusCreated, row)
}

// shown answers with a row that can be edited.
func shown(w http.ResponseWriter, revision int64, row any) error {
	setETag(w, revision)
	return req.WriteJSON(w, http.StatusOK, row)
}

func (s *Service) apiSites(w http.ResponseWriter, r *http.Request) error {
	if err := form.NoQuery(r); err != nil {
		return err
	}
	sites, err := s.DB.Sites(r.Context())
	if err != nil {
		return err
	}
	sites = slices.DeleteFunc(sites, func(x logbook.Site) bool { return !req.Of(r).Actor.MaySee(x.ID) })
	return req.WriteJSON(w, http.StatusOK, listOf(sites, siteJSON))
}

func (s *Service) apiSite(w http.ResponseWriter, r *http.Request) error {
	if err := form.NoQuery(r); err != nil {
		return err
	}
	site, err := s.SiteOf(r)
	if err != nil {
		return err
	}
	return shown(w, site.Revision, siteJSON(&site))
}

func (s *Service) apiSiteCreate(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	o, once, err := s.newRow(r)
	if err != nil {
		return err
	}
	site := readSiteJSON(o)
	if err := refuseBody(o, site.Validate); err != nil {
		return err
	}
	if site, err = s.DB.CreateSite(r.Context(), v.Actor, site, v.Now, once); err != nil {
		return err
	}
	return created(w, "sites", site.ID, site.Revision, siteJSON(&site))
}

func (s *Service) apiSitePatch(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	have, err := s.SiteOf(r)
	if err != nil {
		return err
	}
	if err := ifMatch(r, have.Revision); err != nil {
		return err
	}
	e, err := readEdit(r, siteJSON(&have), siteEdits)
	if err != nil {
		return err
	}
	site := readSiteJSON(e.Object)
	site.ID, site.Revision = have.ID, have.Revision
	if err := refuseBody(e.Object, site.Validate); err != nil {
		return err
	}
	if site, err = s.DB.UpdateSite(r.Context(), v.Actor, site, v.Now); err != nil {
		return err
	}
	return shown(w, site.Revision, siteJSON(&site))
}

func (s *Service) apiTanks(w http.ResponseWriter, r *http.Request) error {
	if err := form.NoQuery(r); err != nil {
		return err
	}
	site, err := s.SiteOf(r)
	if err != nil {
		return err
	}
	tanks, err := s.DB.Tanks(r.Context(), site.ID)
	if err != nil {
		return err
	}
	return req.WriteJSON(w, http.StatusOK, listOf(tanks, tankJSON))
}

func (s *Service) apiTank(w http.ResponseWriter, r *http.Request) error {
	if err := form.NoQuery(r); err != nil {
		return err
	}
	t, _, err := s.TankOf(r)
	if err != nil {
		return err
	}
	return shown(w, t.Revision, tankJSON(&t))
}

func (s *Service) apiTankCreate(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	site, err := s.SiteOf(r)
	if err != nil {
		return err
	}
	o, once, err := s.newRow(r)
	if err != nil {
		return err
	}
	t := readTankJSON(o)
	t.SiteID = site.ID
	if err := refuseBody(o, t.Validate); err != nil {
		return err
	}
	if t, err = s.DB.CreateTank(r.Context(), v.Actor, t, v.Now, once); err != nil {
		return err
	}
	return created(w, "tanks", t.ID, t.Revision, tankJSON(&t))
}

func (s *Service) apiTankPatch(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	have, _, err := s.TankOf(r)
	if err != nil {
		return err
	}
	if err := ifMatch(r, have.Revision); err != nil {
		return err
	}
	e, err := readEdit(r, tankJSON(&have), tankEdits)
	if err != nil {
		return err
	}
	t := readTankJSON(e.Object)
	t.ID, t.SiteID, t.Revision = have.ID, have.SiteID, have.Revision
	if err := refuseBody(e.Object, t.Validate); err != nil {
		return err
	}
	if t, err = s.DB.UpdateTank(r.Context(), v.Actor, t, v.Now); err != nil {
		return err
	}
	return shown(w, t.Revision, tankJSON(&t))
}

func (s *Service) apiLots(w http.ResponseWriter, r *http.Request) error {
	if err := form.NoQuery(r); err != nil {
		return err
	}
	lots, err := s.DB.Lots(r.Context())
	if err != nil {
		return err
	}
	return req.WriteJSON(w, http.StatusOK, listOf(lots, lotJSON))
}

func (s *Service) apiLot(w http.ResponseWriter, r *http.Request) error {
	if err := form.NoQuery(r); err != nil {
		return err
	}
	l, err := s.LotOf(r)
	if err != nil {
		return err
	}
	return shown(w, l.Edits, lotJSON(&l))
}

func (s *Service) apiLotCreate(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	o, once, err := s.newRow(r)
	if err != nil {
		return err
	}
	l := readLotJSON(o)
	if err := refuseBody(o, func() []logbook.Problem { return l.Validate(v.ProgrammeToday()) }); err != nil {
		return err
	}
	if l, err = s.DB.CreateLot(r.Context(), v.Actor, l, v.Now, once); err != nil {
		return err
	}
	return created(w, "lots", l.ID, l.Edits, lotJSON(&l))
}

func (s *Service) apiLotPatch(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	have, err := s.LotOf(r)
	if err != nil {
		return err
	}
	if err := ifMatch(r, have.Edits); err != nil {
		return err
	}
	e, err := readEdit(r, lotJSON(&have), lotEdits)
	if err != nil {
		return err
	}
	l := readLotJSON(e.Object)
	l.ID, l.Edits = have.ID, have.Edits
	if err := refuseBody(e.Object, func() []logbook.Problem { return l.Validate(v.ProgrammeToday()) }); err != nil {
		return err
	}
	if l, err = s.DB.UpdateLot(r.Context(), v.Actor, l, v.Now); err != nil {
		return err
	}
	return shown(w, l.Edits, lotJSON(&l))
}

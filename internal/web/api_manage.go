package web

import (
	"net/http"
	"slices"

	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/units"
)

// Sites, tanks and lots by JSON.

var (
	siteEdits = []string{"name", "zone", "altitude_m", "language", "temperature_unit", "weekends"}
	tankEdits = []string{"name", "volume_l", "wall", "setpoint_c", "has_chiller", "has_filter", "has_air_pump", "has_basket"}
	lotEdits  = []string{"code", "species", "supplier", "stock", "fertilised_on", "egg_diameter_mm", "note"}
)

func readSiteJSON(o *object) logbook.Site {
	return logbook.Site{Name: o.text("name"), Zone: o.text("zone"), Altitude: numberOf[units.Metres](o, "altitude_m"),
		Language: o.text("language"), TemperatureUnit: units.TemperatureUnit(o.text("temperature_unit")), Weekends: readWeekends(o.text("weekends"))}
}

func readTankJSON(o *object) logbook.Tank {
	return logbook.Tank{Name: o.text("name"), Volume: numberOf[units.Litres](o, "volume_l").V, Wall: logbook.Wall(o.text("wall")),
		Setpoint: numberOf[units.Celsius](o, "setpoint_c"), HasChiller: o.flag("has_chiller"), HasFilter: o.flag("has_filter"),
		HasAirPump: o.flag("has_air_pump"), HasBasket: o.flag("has_basket")}
}

func readLotJSON(o *object) logbook.Lot {
	return logbook.Lot{Code: o.text("code"), Species: logbook.Species(o.text("species")), Supplier: o.text("supplier"), Stock: o.text("stock"),
		FertilisedOn: o.date("fertilised_on"), EggDiameter: numberOf[units.Millimetres](o, "egg_diameter_mm"), Note: o.text("note")}
}

// refuseBody ends the reading of a body and, when all of it could be read,
// judges what it says.
func refuseBody(o *object, judge func() []logbook.Problem) error {
	o.end()
	if len(*o.problems) > 0 {
		return logbook.Refuse(*o.problems)
	}
	return logbook.Refuse(judge())
}

// newRow reads the body and the key of a create.
func (s *Server) newRow(r *http.Request) (o *object, once store.Once, err error) {
	if err = noQuery(r); err != nil {
		return nil, once, err
	}
	if o, err = readObject(r); err != nil {
		return nil, once, err
	}
	once, _, err = s.once(r, o.fields)
	return o, once, err
}

// created answers a create of a row without entry data.
func created(w http.ResponseWriter, path string, id logbook.ID, revision int64, row any) error {
	setETag(w, revision)
	w.Header().Set("Location", "/api/v1/"+path+"/"+string(id))
	return writeJSON(w, http.StatusCreated, row)
}

// shown answers with a row that can be edited.
func shown(w http.ResponseWriter, revision int64, row any) error {
	setETag(w, revision)
	return writeJSON(w, http.StatusOK, row)
}

func (s *Server) apiSites(w http.ResponseWriter, r *http.Request) error {
	if err := noQuery(r); err != nil {
		return err
	}
	sites, err := s.db.Sites(r.Context())
	if err != nil {
		return err
	}
	sites = slices.DeleteFunc(sites, func(x logbook.Site) bool { return !visitOf(r).actor.MaySee(x.ID) })
	return writeJSON(w, http.StatusOK, listOf(sites, siteJSON))
}

func (s *Server) apiSite(w http.ResponseWriter, r *http.Request) error {
	if err := noQuery(r); err != nil {
		return err
	}
	site, err := s.siteOf(r)
	if err != nil {
		return err
	}
	return shown(w, site.Revision, siteJSON(&site))
}

func (s *Server) apiSiteCreate(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	o, once, err := s.newRow(r)
	if err != nil {
		return err
	}
	site := readSiteJSON(o)
	if err := refuseBody(o, site.Validate); err != nil {
		return err
	}
	if site, err = s.db.CreateSite(r.Context(), v.actor, site, v.now, once); err != nil {
		return err
	}
	return created(w, "sites", site.ID, site.Revision, siteJSON(&site))
}

func (s *Server) apiSitePatch(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	have, err := s.siteOf(r)
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
	site := readSiteJSON(e.object)
	site.ID, site.Revision = have.ID, have.Revision
	if err := refuseBody(e.object, site.Validate); err != nil {
		return err
	}
	if site, err = s.db.UpdateSite(r.Context(), v.actor, site, v.now); err != nil {
		return err
	}
	return shown(w, site.Revision, siteJSON(&site))
}

func (s *Server) apiTanks(w http.ResponseWriter, r *http.Request) error {
	if err := noQuery(r); err != nil {
		return err
	}
	site, err := s.siteOf(r)
	if err != nil {
		return err
	}
	tanks, err := s.db.Tanks(r.Context(), site.ID)
	if err != nil {
		return err
	}
	return writeJSON(w, http.StatusOK, listOf(tanks, tankJSON))
}

func (s *Server) apiTank(w http.ResponseWriter, r *http.Request) error {
	if err := noQuery(r); err != nil {
		return err
	}
	t, _, err := s.tankOf(r)
	if err != nil {
		return err
	}
	return shown(w, t.Revision, tankJSON(&t))
}

func (s *Server) apiTankCreate(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	site, err := s.siteOf(r)
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
	if t, err = s.db.CreateTank(r.Context(), v.actor, t, v.now, once); err != nil {
		return err
	}
	return created(w, "tanks", t.ID, t.Revision, tankJSON(&t))
}

func (s *Server) apiTankPatch(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	have, _, err := s.tankOf(r)
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
	t := readTankJSON(e.object)
	t.ID, t.SiteID, t.Revision = have.ID, have.SiteID, have.Revision
	if err := refuseBody(e.object, t.Validate); err != nil {
		return err
	}
	if t, err = s.db.UpdateTank(r.Context(), v.actor, t, v.now); err != nil {
		return err
	}
	return shown(w, t.Revision, tankJSON(&t))
}

func (s *Server) apiLots(w http.ResponseWriter, r *http.Request) error {
	if err := noQuery(r); err != nil {
		return err
	}
	lots, err := s.db.Lots(r.Context())
	if err != nil {
		return err
	}
	return writeJSON(w, http.StatusOK, listOf(lots, lotJSON))
}

func (s *Server) apiLot(w http.ResponseWriter, r *http.Request) error {
	if err := noQuery(r); err != nil {
		return err
	}
	l, err := s.lotOf(r)
	if err != nil {
		return err
	}
	return shown(w, l.Edits, lotJSON(&l))
}

func (s *Server) apiLotCreate(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	o, once, err := s.newRow(r)
	if err != nil {
		return err
	}
	l := readLotJSON(o)
	if err := refuseBody(o, func() []logbook.Problem { return l.Validate(v.programmeToday()) }); err != nil {
		return err
	}
	if l, err = s.db.CreateLot(r.Context(), v.actor, l, v.now, once); err != nil {
		return err
	}
	return created(w, "lots", l.ID, l.Edits, lotJSON(&l))
}

func (s *Server) apiLotPatch(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	have, err := s.lotOf(r)
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
	l := readLotJSON(e.object)
	l.ID, l.Edits = have.ID, have.Edits
	if err := refuseBody(e.object, func() []logbook.Problem { return l.Validate(v.programmeToday()) }); err != nil {
		return err
	}
	if l, err = s.db.UpdateLot(r.Context(), v.actor, l, v.now); err != nil {
		return err
	}
	return shown(w, l.Edits, lotJSON(&l))
}

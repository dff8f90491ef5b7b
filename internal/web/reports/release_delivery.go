package reports

import (
	"errors"
	"math"
	"net/http"
	"strconv"
	"strings"

	"reddside/internal/care"
	"reddside/internal/civil"
	"reddside/internal/forecast"
	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/units"
	"reddside/internal/water"
	"reddside/internal/web/form"
	"reddside/internal/web/req"
	"reddside/internal/web/ui"
	"reddside/internal/web/words"
)

var deliverySteps = []guidedStep{
	{"eggs", []guidedField{{name: "lot", kind: "lot"}, {name: "on", kind: "date"}, {name: "stage", kind: "stage"},
		{"thermal_units", "number", 0, 4000},
		{name: "thermal_units_in", kind: "units"}, {"mean_temperature", "temperature", 0, 20},
		{"development_index", "number", 0, 2}}},
	{"temper", []guidedField{{"pack_temperature", "temperature", 0, 30}, {"tank_temperature", "temperature", 0, 30}}},
	{"iodophor", []guidedField{{name: "asked", kind: "tick"}, {"stock_percent", "number", 0.1, 20},
		{"bath_l", "number", 0.1, 100}}},
	{"count", []guidedField{{name: "method", kind: "method"}, {"counted", "count", 1, 1e6},
		{"displaced_ml", "number", 0.1, 100000}, {"volume_l", "number", 0.001, 100},
		{"row_mm", "number", 10, 2000}, {"row_eggs", "count", 1, 1000}, {"lot_g", "number", 0.1, 100000},
		{"sample_n", "count", 1, 10000}, {"sample_g", "number", 0.01, 10000}}},
	{"finish", []guidedField{{name: "release_from", kind: "date"}, {name: "release_by", kind: "date"},
		{name: "note", kind: "area"}}},
}

// deliveryDay is a guided delivery with its tank.
type deliveryDay struct {
	*guide
	tank  logbook.Tank
	site  logbook.Site
	lots  []logbook.Lot
	today civil.Date
}

func (s *Service) deliveryDayOf(r *http.Request) (*deliveryDay, error) {
	t, site, err := s.TankOf(r)
	if err != nil {
		return nil, err
	}
	options, lots, err := s.LotOptions(r)
	if err != nil {
		return nil, err
	}
	v := req.Of(r)
	p := s.InSite(v, site)
	choice := func(list []ui.Option) []ui.Option {
		return append([]ui.Option{{Value: "", Label: p.T("guided.choose")}}, list...)
	}
	g := &guide{prefix: "deliveryday", kind: store.DraftDelivery, subject: t.ID,
		path: ui.TankPath(t.ID, "/delivery-day"),
		back: ui.PageLink{Href: ui.SitePath(site.ID), Text: t.Name + ", " + site.Name}, steps: deliverySteps, p: p,
		choices: map[string][]ui.Option{"lot": choice(options),
			"method": choice(words.KeyedOptions(p, logbook.CountMethods())),
			"stage": choice(words.KeyedOptions(p, []logbook.Stage{logbook.GreenEgg, logbook.EyedEgg, logbook.Alevin,
				logbook.Fry})),
			"units": choice([]ui.Option{{Value: string(units.Cel), Label: p.T("unit.tu_c")},
				{Value: string(units.DegF), Label: p.T("unit.tu_f")}})}}
	g.draft, err = s.DB.Draft(r.Context(), g.kind, g.subject)
	return &deliveryDay{g, t, site, lots, s.Assess.Today(site, v.Now)}, err
}

func (s *Service) deliveryDayShow(w http.ResponseWriter, r *http.Request) error {
	x, err := s.deliveryDayOf(r)
	if err != nil {
		return err
	}
	if len(x.lots) == 0 {
		http.Redirect(w, r, "/lots/new", http.StatusSeeOther)
		return nil
	}
	x.at(r.URL.Query().Get("step"))
	return s.renderDeliveryDay(w, r, x, nil)
}

func (s *Service) renderDeliveryDay(w http.ResponseWriter, r *http.Request, x *deliveryDay, f *form.Form) error {
	m := GuidedPage{Tank: x.tank.Name, Results: x.results()}
	if x.step.id == "eggs" {
		m.BeforeHref = ui.TankPath(x.tank.ID, "/before-eggs")
	}
	if x.step.id == "iodophor" && x.answers().Text("asked") != "" {
		for _, c := range water.IodophorCautions() {
			m.Cautions = append(m.Cautions, x.p.T(string(c)))
		}
	}
	return s.renderGuide(w, r, x.guide, f, m)
}

// deliveryDaySave stores one step, and after the last one starts the season.
func (s *Service) deliveryDaySave(w http.ResponseWriter, r *http.Request) error {
	x, err := s.deliveryDayOf(r)
	if err != nil {
		return err
	}
	f, err := form.ReadForm(r)
	if err != nil {
		return err
	}
	x.at(f.Text("step"))
	ok, err := s.saveGuide(r, x.guide, f)
	if err != nil {
		return err
	}
	switch {
	case !ok:
		return s.renderDeliveryDay(w, r, x, f)
	case x.step.id == "finish":
		return s.deliveryDayFinish(w, r, x, f)
	}
	to := x.next()
	if x.step.id == "iodophor" || x.step.id == "temper" || x.step.id == "count" {
		to = x.step.id // the answer is worth reading before going on
	}
	http.Redirect(w, r, x.path+"?step="+to, http.StatusSeeOther)
	return nil
}

func (s *Service) deliveryDayFinish(w http.ResponseWriter, r *http.Request, x *deliveryDay, f *form.Form) error {
	v := req.Of(r)
	season, d := x.read(f)
	if len(f.Problems) > 0 {
		return s.renderDeliveryDay(w, r, x, f)
	}
	out, err := s.DB.FinishDelivery(r.Context(), v.Actor, season, d, x.draft.Revision, v.Now)
	if f.LotRefused(err) {
		return s.renderDeliveryDay(w, r, x, f)
	}
	ok, err := s.guideFailed(r, x.guide, f, err)
	if err != nil {
		return err
	}
	if !ok {
		return s.renderDeliveryDay(w, r, x, f)
	}
	if err := s.Assess.SyncFlags(r.Context(), v.Actor, out.ID, v.Now); err != nil {
		return err
	}
	return s.Saved(w, r, ui.SeasonPath(out.ID))
}

// read makes season and delivery of the answers; what is wrong or missing is
// added to f.
func (x *deliveryDay) read(f *form.Form) (logbook.Season, logbook.Delivery) {
	a := x.answers()
	var lot logbook.Lot
	for _, l := range x.lots {
		if string(l.ID) == a.Text("lot") {
			lot = l
		}
	}
	if lot.ID == "" {
		a.Fail("lot", "choice.empty", nil)
	}
	count, how, ok := x.count()
	if !ok {
		a.Fail("counted", "deliveryday.count_missing", nil)
	}
	if note := strings.TrimSpace(how + "\n" + a.Text("note")); note != "" {
		a.Set("note", note)
	}
	a.Set("count", strconv.Itoa(count))
	a.Set("on", guidedDay(a, "on", x.today).String())
	d := req.ReadDelivery(a, logbook.Delivery{}, x.site)
	a.Add(d.Validate(lot, x.today))
	season := logbook.Season{Label: words.SeasonLabel(d.On), Tank: x.tank, Lot: lot}
	form.ReadRelease(a, &season, x.today)
	for _, p := range a.Problems {
		if p.Field != "count" || ok {
			f.Add([]logbook.Problem{p})
		}
	}
	return season, d
}

// index is the share of the way to hatch that the eggs have behind them on the day
// of delivery, by what was answered so far; ok is false when that says nothing.
func (x *deliveryDay) index() (index float64, ok bool) {
	a := x.answers()
	d := req.ReadDelivery(a, logbook.Delivery{}, x.site)
	if d.On = guidedDay(a, "on", x.today); d.Index.OK {
		return d.Index.V, true
	}
	for _, l := range x.lots {
		if string(l.ID) == a.Text("lot") {
			f := forecast.Compute(forecast.Input{Season: &logbook.Season{Tank: x.tank, Site: x.site, Lot: l,
				Deliveries: []logbook.Delivery{d}}, Today: d.On})
			return f.StartIndex, !f.StartOn.IsZero()
		}
	}
	return 0, false
}

// diameter is that of a row in a trough, else the lot's own.
func (x *deliveryDay) diameter(a *form.Form) units.Optional[units.Millimetres] {
	row, n := a.Number("row_mm"), a.Count("row_eggs")
	if row.OK && n.OK {
		if d, err := water.EggDiameter(units.Millimetres(row.V), n.V); err == nil {
			return units.Some(d)
		}
		return units.None[units.Millimetres]()
	}
	for _, l := range x.lots {
		if string(l.ID) == a.Text("lot") {
			return l.EggDiameter
		}
	}
	return units.None[units.Millimetres]()
}

// count is the number of eggs by the chosen way of counting, and how it was
// worked out; ok is false when something for it is missing.
func (x *deliveryDay) count() (n int, how string, ok bool) {
	a := x.answers()
	d := x.diameter(a)
	eggs, err := 0.0, errors.New("missing")
	var args logbook.Args
	switch m := logbook.CountMethod(a.Text("method")); m {
	case logbook.ByHand, logbook.Supplied:
		c := a.Count("counted")
		return c.V, "", c.OK
	case logbook.ByVolume:
		if ml := a.Number("displaced_ml"); ml.OK && d.OK {
			eggs, err = water.EggsByDisplacement(ml.V, d.V)
			how, args = "deliveryday.how.volume", logbook.Args{"Ml": ml.V, "D": d.V}
		}
	case logbook.ByTrough:
		if l := a.Number("volume_l"); l.OK && d.OK && a.Count("row_eggs").OK {
			eggs, err = water.EggsPerLitre(d.V)
			eggs *= l.V
			how, args = "deliveryday.how.trough", logbook.Args{"L": units.Litres(l.V), "D": d.V}
		}
	case logbook.ByWeight:
		lot, sn, sg := a.Number("lot_g"), a.Count("sample_n"), a.Number("sample_g")
		if lot.OK && sn.OK && sg.OK {
			eggs, err = water.CountByWeight(units.Grams(lot.V), sn.V, units.Grams(sg.V))
			how, args = "deliveryday.how.weight", logbook.Args{"Lot": units.Grams(lot.V), "N": sn.V,
				"Sample": units.Grams(sg.V)}
		}
	}
	if err != nil || eggs < 0.5 {
		return 0, "", false
	}
	n = int(math.Round(eggs))
	args["Eggs"] = n
	return n, x.p.T(how, args), true
}

// results are worked out for the present step.
func (x *deliveryDay) results() []string {
	a := x.answers()
	var out []string
	say := func(key string, args logbook.Args) { out = append(out, x.p.T("release.result."+key, args)) }
	switch x.step.id {
	case "eggs":
		if index, ok := x.index(); ok && index < forecast.EyedIndex {
			out = append(out, x.p.T("deliveryday.tender", logbook.Args{"Percent": x.p.Percent(index)}))
		}
	case "temper":
		pack, tank := optTemperature(a, "pack_temperature", x.p.Unit()), optTemperature(a, "tank_temperature",
			x.p.Unit())
		if pack.OK && tank.OK {
			temperWords(pack.V, tank.V, say)
		}
	case "iodophor":
		percent, bath := a.Number("stock_percent"), form.Optional[units.Litres](a, "bath_l")
		if a.Text("asked") == "" || !percent.OK || !bath.OK {
			return nil
		}
		if index, ok := x.index(); ok && index >= care.NearHatchFrom {
			return append(out, x.p.T("deliveryday.iodophor_late", logbook.Args{"Percent": x.p.Percent(index)}))
		}
		if ml, err := water.IodophorStock(water.IodophorTarget, bath.V, percent.V); err == nil {
			out = append(out, x.p.T("deliveryday.iodophor_dose", logbook.Args{"Ml": ml, "Bath": bath.V,
				"Target": units.MgPerL(water.IodophorTarget), "Minutes": water.IodophorMinutes}))
		}
	case "count", "finish":
		if n, how, ok := x.count(); ok {
			if how == "" {
				how = x.p.T("deliveryday.how.direct", logbook.Args{"Eggs": n})
			}
			out = append(out, how)
		} else if a.Text("method") != "" {
			out = append(out, x.p.T("deliveryday.how.missing"))
		}
	}
	return out
}

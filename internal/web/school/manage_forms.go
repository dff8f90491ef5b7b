package school

import (
	"strings"
	"time"

	"reddside/internal/civil"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/units"
	"reddside/internal/web/form"
	"reddside/internal/web/req"
	"reddside/internal/web/ui"
	"reddside/internal/web/words"
)

// zones are offered for a school; any other IANA name can be sent through the
// JSON interface.
var zones = []string{
	"America/St_Johns", "America/Halifax", "America/Moncton", "America/Toronto", "America/New_York", "America/Detroit",
	"America/Winnipeg", "America/Chicago", "America/Regina", "America/Edmonton", "America/Denver", "America/Boise",
	"America/Phoenix",
	"America/Vancouver", "America/Whitehorse", "America/Los_Angeles", "America/Anchorage", "America/Juneau",
	"Atlantic/Reykjavik", "Europe/Dublin", "Europe/London", "Europe/Lisbon", "Europe/Madrid", "Europe/Paris",
	"Europe/Brussels",
	"Europe/Berlin", "Europe/Zurich", "Europe/Copenhagen", "Europe/Oslo", "Europe/Stockholm", "Europe/Helsinki",
	"Europe/Tallinn", "Europe/Warsaw",
	"Asia/Tokyo", "Australia/Hobart", "Pacific/Auckland", "UTC",
}

func zoneOptions(current string) []ui.Option {
	var out []ui.Option
	known := false
	for _, z := range zones {
		known = known || z == current
		out = append(out, ui.Option{Value: z, Label: strings.ReplaceAll(z, "_", " ")})
	}
	if current != "" && !known {
		out = append(out, ui.Option{Value: current, Label: current})
	}
	return out
}

// localZone is this machine's zone when it has an IANA name, as a default.
func localZone() string {
	if z := time.Local.String(); z != "Local" {
		return z
	}
	return ""
}

func (s *Service) languageOptions(p *i18n.Printer) []ui.Option {
	var out []ui.Option
	for _, l := range s.Cat.Languages() {
		out = append(out, ui.Option{Value: l, Label: p.T("language." + l)})
	}
	return out
}

func unitOptions() []ui.Option {
	return []ui.Option{{Value: string(units.Cel), Label: "°C"}, {Value: string(units.DegF), Label: "°F"}}
}

// site

func (s *Service) siteItems(p *i18n.Printer, f *form.Form) *form.Items {
	b := form.FormItems(s.Cat, p, "site")
	b.Text("name", f.Raw("name"))
	b.Pick("zone", f.Raw("zone"), zoneOptions(f.Raw("zone")))
	b.Number("altitude_m", f.Raw("altitude_m"), "decimal", true)
	b.Tiles("language", f.Raw("language"), s.languageOptions(p))
	b.Tiles("temperature_unit", f.Raw("temperature_unit"), unitOptions())
	return b
}

// weekendsItems asks whether somebody looks at weekends; a new school follows the
// programme until it says so.
func weekendsItems(b *form.Items, f *form.Form) {
	var options []ui.Option
	for _, w := range logbook.AllWeekends() {
		options = append(options, ui.Option{Value: words.WeekendsValue(w),
			Label: b.P.T("site.weekends." + words.WeekendsValue(w))})
	}
	b.Tiles("weekends", f.Raw("weekends"), options)
}

func readSite(f *form.Form, site logbook.Site) logbook.Site {
	site.Name, site.Zone, site.Language = f.Text("name"), f.Text("zone"), f.Text("language")
	site.TemperatureUnit = units.TemperatureUnit(f.Text("temperature_unit"))
	site.Altitude = form.Optional[units.Metres](f, "altitude_m")
	if w := f.Text("weekends"); w != "" {
		site.Weekends = words.ReadWeekends(w)
	}
	f.Add(site.Validate())
	return site
}

func siteForm(site logbook.Site) *form.Form {
	f := form.NewForm()
	f.Set("name", site.Name)
	f.Set("zone", site.Zone)
	f.Set("language", site.Language)
	f.Set("temperature_unit", string(site.TemperatureUnit))
	f.Set("weekends", words.WeekendsValue(site.Weekends))
	f.SetNumber("altitude_m", float64(site.Altitude.V), site.Altitude.OK)
	return f
}

// tank

var volumeUnits = []string{"L", "us_gal", "imp_gal"}

func (s *Service) tankItems(p *i18n.Printer, f *form.Form, site logbook.Site) *form.Items {
	b := form.FormItems(s.Cat, p, "tank")
	b.Text("name", f.Raw("name"))
	b.Number("volume_l", f.Raw("volume_l"), "decimal", false)
	var vu []ui.Option
	for _, u := range volumeUnits {
		vu = append(vu, ui.Option{Value: u, Label: p.T("volume." + u)})
	}
	b.Tiles("volume_unit", f.Raw("volume_unit"), vu)
	b.Tiles("wall", f.Raw("wall"), words.KeyedOptions(p, []logbook.Wall{logbook.BareGlass, logbook.Insulated}))
	b.Tick("has_chiller", f.Raw("has_chiller") != "")
	b.Tick("has_filter", f.Raw("has_filter") != "")
	b.Tick("has_air_pump", f.Raw("has_air_pump") != "")
	b.Tick("has_basket", f.Raw("has_basket") != "")
	b.Number("setpoint", f.Raw("setpoint"), "decimal", true,
		map[string]any{"Unit": req.UnitOr(site.TemperatureUnit, units.Cel)})
	return b
}

func readTank(f *form.Form, t logbook.Tank, site logbook.Site) logbook.Tank {
	t.Name, t.Wall = f.Text("name"), logbook.Wall(f.Text("wall"))
	t.HasChiller, t.HasFilter = f.Raw("has_chiller") != "", f.Raw("has_filter") != ""
	t.HasAirPump, t.HasBasket = f.Raw("has_air_pump") != "", f.Raw("has_basket") != ""
	t.Setpoint, _, _ = f.Temperature("setpoint", req.UnitOr(site.TemperatureUnit, units.Cel))
	v := f.Number("volume_l")
	if !v.OK && !f.Has("volume_l") {
		f.Fail("volume_l", "number.not", nil)
	}
	switch f.Text("volume_unit") {
	case "L":
		t.Volume = units.Litres(v.V)
	case "us_gal":
		t.Volume = units.Litres(v.V * units.LitresPerUSGallon)
	case "imp_gal":
		t.Volume = units.Litres(v.V * units.LitresPerImperialGallon)
	default:
		f.Fail("volume_unit", "choice.empty", nil)
		t.Volume = units.Litres(v.V)
	}
	for _, p := range t.Validate() {
		switch {
		case p.Field == "setpoint_c":
			p.Field = "setpoint"
		case p.Field == "volume_l" && p.Key == "number.between": // typed in litres or gallons
			p.Key = "tank.volume_range"
		}
		f.Add([]logbook.Problem{p})
	}
	return t
}

func tankForm(t logbook.Tank, site logbook.Site) *form.Form {
	f := form.NewForm()
	f.Set("name", t.Name)
	f.SetNumber("volume_l", units.Round(float64(t.Volume), 1), t.Volume > 0)
	f.Set("volume_unit", "L")
	f.Set("wall", string(t.Wall))
	for name, on := range map[string]bool{"has_chiller": t.HasChiller, "has_filter": t.HasFilter,
		"has_air_pump": t.HasAirPump, "has_basket": t.HasBasket} {
		if on {
			f.Set(name, "yes")
		}
	}
	f.SetNumber("setpoint", units.Round(req.UnitOr(site.TemperatureUnit, units.Cel).FromCelsius(t.Setpoint.V), 1),
		t.Setpoint.OK)
	return f
}

// lot

func (s *Service) lotItems(p *i18n.Printer, f *form.Form) *form.Items {
	b := form.FormItems(s.Cat, p, "lot")
	b.Text("code", f.Raw("code"))
	b.Pick("species", f.Raw("species"), words.KeyedOptions(p, logbook.AllSpecies()))
	b.OptionalText("supplier", f.Raw("supplier"))
	b.OptionalText("stock", f.Raw("stock"))
	b.Date("fertilised_on", f.Raw("fertilised_on"), true)
	b.Number("egg_diameter_mm", f.Raw("egg_diameter_mm"), "decimal", true)
	b.Area("note", f.Raw("note"))
	return b
}

func readLot(f *form.Form, l logbook.Lot, today civil.Date) logbook.Lot {
	l.Code, l.Species, l.Supplier, l.Stock = f.Text("code"), logbook.Species(f.Text("species")), f.Text("supplier"),
		f.Text("stock")
	l.FertilisedOn, l.Note = f.Date("fertilised_on"), f.Text("note")
	l.EggDiameter = form.Optional[units.Millimetres](f, "egg_diameter_mm")
	f.Add(l.Validate(today))
	return l
}

func lotForm(l logbook.Lot) *form.Form {
	f := form.NewForm()
	f.Set("code", l.Code)
	f.Set("species", string(l.Species))
	f.Set("supplier", l.Supplier)
	f.Set("stock", l.Stock)
	f.Set("fertilised_on", l.FertilisedOn.String())
	f.SetNumber("egg_diameter_mm", float64(l.EggDiameter.V), l.EggDiameter.OK)
	f.Set("note", l.Note)
	return f
}

// delivery

func (s *Service) deliveryItems(p *i18n.Printer, f *form.Form, site logbook.Site) *form.Items {
	b := form.FormItems(s.Cat, p, "delivery")
	unit := map[string]any{"Unit": req.UnitOr(site.TemperatureUnit, units.Cel)}
	b.Date("on", f.Raw("on"), false)
	b.Number("count", f.Raw("count"), "numeric", false)
	b.Pick("method", f.Raw("method"), words.KeyedOptions(p, logbook.CountMethods()))
	b.OptionalTiles("stage", f.Raw("stage"), words.KeyedOptions(p, []logbook.Stage{logbook.GreenEgg, logbook.EyedEgg,
		logbook.Alevin, logbook.Fry}))
	b.Number("thermal_units", f.Raw("thermal_units"), "decimal", true)
	b.OptionalTiles("thermal_units_in", f.Raw("thermal_units_in"), []ui.Option{
		{Value: string(units.Cel), Label: p.T("unit.tu_c")}, {Value: string(units.DegF), Label: p.T("unit.tu_f")}})
	b.Number("mean_temperature", f.Raw("mean_temperature"), "decimal", true, unit)
	b.Number("development_index", f.Raw("development_index"), "decimal", true)
	b.Number("pack_temperature", f.Raw("pack_temperature"), "decimal", true, unit)
	b.Area("note", f.Raw("note"))
	return b
}

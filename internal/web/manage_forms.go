package web

import (
	"cmp"
	"slices"
	"strconv"
	"strings"
	"time"

	"reddside/internal/civil"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/units"
	"reddside/internal/web/view"
)

// lastZone is where a day begins first on earth.
var lastZone = time.FixedZone("UTC+14", 14*3600)

// zones are offered for a school; any other IANA name can be sent through the
// JSON interface.
var zones = []string{
	"America/St_Johns", "America/Halifax", "America/Moncton", "America/Toronto", "America/New_York", "America/Detroit",
	"America/Winnipeg", "America/Chicago", "America/Regina", "America/Edmonton", "America/Denver", "America/Boise", "America/Phoenix",
	"America/Vancouver", "America/Whitehorse", "America/Los_Angeles", "America/Anchorage", "America/Juneau",
	"Atlantic/Reykjavik", "Europe/Dublin", "Europe/London", "Europe/Lisbon", "Europe/Madrid", "Europe/Paris", "Europe/Brussels",
	"Europe/Berlin", "Europe/Zurich", "Europe/Copenhagen", "Europe/Oslo", "Europe/Stockholm", "Europe/Helsinki", "Europe/Tallinn", "Europe/Warsaw",
	"Asia/Tokyo", "Australia/Hobart", "Pacific/Auckland", "UTC",
}

func zoneOptions(current string) []view.Option {
	var out []view.Option
	known := false
	for _, z := range zones {
		known = known || z == current
		out = append(out, view.Option{Value: z, Label: strings.ReplaceAll(z, "_", " ")})
	}
	if current != "" && !known {
		out = append(out, view.Option{Value: current, Label: current})
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

func (s *Server) languageOptions(p *i18n.Printer) []view.Option {
	var out []view.Option
	for _, l := range s.cat.Languages() {
		out = append(out, view.Option{Value: l, Label: p.T("language." + l)})
	}
	return out
}

func unitOptions() []view.Option {
	return []view.Option{{Value: string(units.Cel), Label: "°C"}, {Value: string(units.DegF), Label: "°F"}}
}

func keyedOptions[T interface {
	~string
	i18n.Keyed
}](p *i18n.Printer, values []T) []view.Option {
	var out []view.Option
	for _, v := range values {
		out = append(out, view.Option{Value: string(v), Label: p.T(v.MessageKey())})
	}
	return out
}

// text, choice and tick build the items of a form page; labels and hints come
// from "<prefix>.<field>" and "<prefix>.<field>.hint".
type items struct {
	p      *i18n.Printer
	cat    *i18n.Catalogue
	prefix string
	list   []view.FormItem
}

func formItems(cat *i18n.Catalogue, p *i18n.Printer, prefix string) *items {
	return &items{p: p, cat: cat, prefix: prefix}
}

func (b *items) field(name, value string, args ...map[string]any) view.Field {
	f := view.Field{Name: name, Value: value, Label: b.p.T(b.prefix+"."+name, args...)}
	if hint := b.prefix + "." + name + ".hint"; b.cat.Has(hint) {
		f.Hint = b.p.T(hint, args...)
	}
	return f
}

func (b *items) text(name, value string) {
	b.list = append(b.list, view.FormItem{Field: b.field(name, value)})
}

func (b *items) optionalText(name, value string) {
	f := b.field(name, value)
	f.Optional = true
	b.list = append(b.list, view.FormItem{Field: f})
}

func (b *items) secret(name string) {
	f := b.field(name, "")
	f.Type, f.Complete = "password", "new-password"
	b.list = append(b.list, view.FormItem{Field: f})
}

func (b *items) number(name, value, mode string, optional bool, args ...map[string]any) {
	f := b.field(name, value, args...)
	f.Mode, f.Width, f.Optional = mode, "w-num", optional
	b.list = append(b.list, view.FormItem{Field: f})
}

func (b *items) date(name, value string, optional bool) {
	f := b.field(name, value)
	f.Type, f.Width, f.Optional = "date", "w-date", optional
	b.list = append(b.list, view.FormItem{Field: f})
}

func (b *items) pick(name, value string, options []view.Option) {
	b.list = append(b.list, view.FormItem{Field: b.field(name, value), Kind: view.SelectItem, Options: options})
}

func (b *items) tiles(name, value string, options []view.Option) {
	b.list = append(b.list, view.FormItem{Field: b.field(name, value), Kind: view.TilesItem, Options: options})
}

func (b *items) optionalTiles(name, value string, options []view.Option) {
	b.tiles(name, value, options)
	b.list[len(b.list)-1].Optional = true
}

func (b *items) tick(name string, on bool) {
	b.list = append(b.list, view.FormItem{Field: b.field(name, ""), Kind: view.CheckItem, Checked: on})
}

func (b *items) area(name, value string) {
	f := b.field(name, value)
	f.Optional = true
	b.list = append(b.list, view.FormItem{Field: f, Kind: view.AreaItem})
}

// problems shows problems with the labels of this form, in the order of its
// fields.
func (b *items) problems(ps []logbook.Problem) view.Problems {
	place := func(field string) int {
		return slices.IndexFunc(b.list, func(it view.FormItem) bool { return it.Name == field })
	}
	ps = slices.Clone(ps)
	for i := range ps {
		if ps[i].Key == keyMeanwhile || ps[i].Key == keyMeanwhileEmpty {
			ps[i] = b.storedNow(ps[i])
		}
	}
	slices.SortStableFunc(ps, func(x, y logbook.Problem) int { return cmp.Compare(place(x.Field), place(y.Field)) })
	return showProblems(b.p, ps, func(field string) string {
		if i := place(field); i >= 0 {
			return b.list[i].Label
		}
		if field == "revision" {
			return b.p.T("entry.revision")
		}
		return b.p.T(b.prefix + "." + field)
	})
}

// site

func (s *Server) siteItems(p *i18n.Printer, f *form) *items {
	b := formItems(s.cat, p, "site")
	b.text("name", f.raw("name"))
	b.pick("zone", f.raw("zone"), zoneOptions(f.raw("zone")))
	b.number("altitude_m", f.raw("altitude_m"), "decimal", true)
	b.tiles("language", f.raw("language"), s.languageOptions(p))
	b.tiles("temperature_unit", f.raw("temperature_unit"), unitOptions())
	return b
}

// weekendsItems asks whether somebody looks at weekends; a new school follows the
// programme until it says so.
func weekendsItems(b *items, f *form) {
	var options []view.Option
	for _, w := range logbook.AllWeekends() {
		options = append(options, view.Option{Value: weekendsValue(w), Label: b.p.T("site.weekends." + weekendsValue(w))})
	}
	b.tiles("weekends", f.raw("weekends"), options)
}

func weekendsValue(w logbook.Weekends) string {
	if w == "" {
		return "programme"
	}
	return string(w)
}

func readWeekends(s string) logbook.Weekends {
	if s == "programme" {
		return ""
	}
	return logbook.Weekends(s)
}

func readSite(f *form, site logbook.Site) logbook.Site {
	site.Name, site.Zone, site.Language = f.text("name"), f.text("zone"), f.text("language")
	site.TemperatureUnit = units.TemperatureUnit(f.text("temperature_unit"))
	site.Altitude = optional[units.Metres](f, "altitude_m")
	if w := f.text("weekends"); w != "" {
		site.Weekends = readWeekends(w)
	}
	f.add(site.Validate())
	return site
}

func siteForm(site logbook.Site) *form {
	f := newForm()
	f.set("name", site.Name)
	f.set("zone", site.Zone)
	f.set("language", site.Language)
	f.set("temperature_unit", string(site.TemperatureUnit))
	f.set("weekends", weekendsValue(site.Weekends))
	f.setNumber("altitude_m", float64(site.Altitude.V), site.Altitude.OK)
	return f
}

// tank

var volumeUnits = []string{"L", "us_gal", "imp_gal"}

func (s *Server) tankItems(p *i18n.Printer, f *form, site logbook.Site) *items {
	b := formItems(s.cat, p, "tank")
	b.text("name", f.raw("name"))
	b.number("volume_l", f.raw("volume_l"), "decimal", false)
	var vu []view.Option
	for _, u := range volumeUnits {
		vu = append(vu, view.Option{Value: u, Label: p.T("volume." + u)})
	}
	b.tiles("volume_unit", f.raw("volume_unit"), vu)
	b.tiles("wall", f.raw("wall"), keyedOptions(p, []logbook.Wall{logbook.BareGlass, logbook.Insulated}))
	b.tick("has_chiller", f.raw("has_chiller") != "")
	b.tick("has_filter", f.raw("has_filter") != "")
	b.tick("has_air_pump", f.raw("has_air_pump") != "")
	b.tick("has_basket", f.raw("has_basket") != "")
	b.number("setpoint", f.raw("setpoint"), "decimal", true, map[string]any{"Unit": unitOr(site.TemperatureUnit, units.Cel)})
	return b
}

func readTank(f *form, t logbook.Tank, site logbook.Site) logbook.Tank {
	t.Name, t.Wall = f.text("name"), logbook.Wall(f.text("wall"))
	t.HasChiller, t.HasFilter = f.raw("has_chiller") != "", f.raw("has_filter") != ""
	t.HasAirPump, t.HasBasket = f.raw("has_air_pump") != "", f.raw("has_basket") != ""
	t.Setpoint, _, _ = f.temperature("setpoint", unitOr(site.TemperatureUnit, units.Cel))
	v := f.number("volume_l")
	if !v.OK && !f.has("volume_l") {
		f.fail("volume_l", "number.not", nil)
	}
	switch f.text("volume_unit") {
	case "L":
		t.Volume = units.Litres(v.V)
	case "us_gal":
		t.Volume = units.Litres(v.V * units.LitresPerUSGallon)
	case "imp_gal":
		t.Volume = units.Litres(v.V * units.LitresPerImperialGallon)
	default:
		f.fail("volume_unit", "choice.empty", nil)
		t.Volume = units.Litres(v.V)
	}
	for _, p := range t.Validate() {
		switch {
		case p.Field == "setpoint_c":
			p.Field = "setpoint"
		case p.Field == "volume_l" && p.Key == "number.between": // typed in litres or gallons
			p.Key = "tank.volume_range"
		}
		f.add([]logbook.Problem{p})
	}
	return t
}

func tankForm(t logbook.Tank, site logbook.Site) *form {
	f := newForm()
	f.set("name", t.Name)
	f.setNumber("volume_l", units.Round(float64(t.Volume), 1), t.Volume > 0)
	f.set("volume_unit", "L")
	f.set("wall", string(t.Wall))
	for name, on := range map[string]bool{"has_chiller": t.HasChiller, "has_filter": t.HasFilter, "has_air_pump": t.HasAirPump, "has_basket": t.HasBasket} {
		if on {
			f.set(name, "yes")
		}
	}
	f.setNumber("setpoint", units.Round(unitOr(site.TemperatureUnit, units.Cel).FromCelsius(t.Setpoint.V), 1), t.Setpoint.OK)
	return f
}

// lot

func (s *Server) lotItems(p *i18n.Printer, f *form) *items {
	b := formItems(s.cat, p, "lot")
	b.text("code", f.raw("code"))
	b.pick("species", f.raw("species"), keyedOptions(p, logbook.AllSpecies()))
	b.optionalText("supplier", f.raw("supplier"))
	b.optionalText("stock", f.raw("stock"))
	b.date("fertilised_on", f.raw("fertilised_on"), true)
	b.number("egg_diameter_mm", f.raw("egg_diameter_mm"), "decimal", true)
	b.area("note", f.raw("note"))
	return b
}

func readLot(f *form, l logbook.Lot, today civil.Date) logbook.Lot {
	l.Code, l.Species, l.Supplier, l.Stock = f.text("code"), logbook.Species(f.text("species")), f.text("supplier"), f.text("stock")
	l.FertilisedOn, l.Note = f.date("fertilised_on"), f.text("note")
	l.EggDiameter = optional[units.Millimetres](f, "egg_diameter_mm")
	f.add(l.Validate(today))
	return l
}

func lotForm(l logbook.Lot) *form {
	f := newForm()
	f.set("code", l.Code)
	f.set("species", string(l.Species))
	f.set("supplier", l.Supplier)
	f.set("stock", l.Stock)
	f.set("fertilised_on", l.FertilisedOn.String())
	f.setNumber("egg_diameter_mm", float64(l.EggDiameter.V), l.EggDiameter.OK)
	f.set("note", l.Note)
	return f
}

// delivery

func (s *Server) deliveryItems(p *i18n.Printer, f *form, site logbook.Site) *items {
	b := formItems(s.cat, p, "delivery")
	unit := map[string]any{"Unit": unitOr(site.TemperatureUnit, units.Cel)}
	b.date("on", f.raw("on"), false)
	b.number("count", f.raw("count"), "numeric", false)
	b.pick("method", f.raw("method"), keyedOptions(p, logbook.CountMethods()))
	b.optionalTiles("stage", f.raw("stage"), keyedOptions(p, []logbook.Stage{logbook.GreenEgg, logbook.EyedEgg, logbook.Alevin, logbook.Fry}))
	b.number("thermal_units", f.raw("thermal_units"), "decimal", true)
	b.optionalTiles("thermal_units_in", f.raw("thermal_units_in"), []view.Option{
		{Value: string(units.Cel), Label: p.T("unit.tu_c")}, {Value: string(units.DegF), Label: p.T("unit.tu_f")}})
	b.number("mean_temperature", f.raw("mean_temperature"), "decimal", true, unit)
	b.number("development_index", f.raw("development_index"), "decimal", true)
	b.number("pack_temperature", f.raw("pack_temperature"), "decimal", true, unit)
	b.area("note", f.raw("note"))
	return b
}

func readDelivery(f *form, d logbook.Delivery, lot logbook.Lot, site logbook.Site, today civil.Date) logbook.Delivery {
	unit := unitOr(site.TemperatureUnit, units.Cel)
	d.On = f.date("on")
	n := f.count("count")
	if !n.OK && !f.has("count") {
		f.fail("count", "number.not_whole", nil)
	}
	d.Count, d.Method, d.Stage, d.Note = n.V, logbook.CountMethod(f.text("method")), logbook.Stage(f.text("stage")), f.text("note")
	d.ThermalUnits = readThermalUnits(f)
	d.Index = f.number("development_index")
	d.MeanTemperature, _, _ = f.temperature("mean_temperature", unit)
	d.PackTemperature, _, _ = f.temperature("pack_temperature", unit)
	f.add(d.Validate(lot, today))
	return d
}

// readThermalUnits reads thermal units in the unit that the hatchery counts in.
// Which one it is cannot be told from the number, so it is asked.
func readThermalUnits(f *form) units.Optional[units.ThermalUnits] {
	v, ok := f.number("thermal_units").Get()
	if !ok {
		return units.None[units.ThermalUnits]()
	}
	switch units.TemperatureUnit(f.text("thermal_units_in")) {
	case units.Cel:
		return units.Some(units.ThermalUnits(v))
	case units.DegF:
		return units.Some(units.ThermalUnitsFromFahrenheit(v))
	}
	f.fail("thermal_units_in", "choice.empty", nil)
	return units.None[units.ThermalUnits]()
}

// newForm is an empty form for first showing.
func newForm() *form { return &form{values: map[string][]string{}} }

func (f *form) set(field, value string) { f.values.Set(field, value) }

func (f *form) setNumber(field string, v float64, ok bool) {
	if ok {
		f.values.Set(field, strconv.FormatFloat(v, 'f', -1, 64))
	}
}

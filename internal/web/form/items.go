package form

import (
	"cmp"
	"slices"
	"strconv"

	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/units"
	"reddside/internal/web/ui"
)

// Items, choice and tick build the items of a form page; labels and hints come
// from "<prefix>.<field>" and "<prefix>.<field>.hint".
type Items struct {
	P      *i18n.Printer
	cat    *i18n.Catalogue
	Prefix string
	List   []ui.FormItem
}

func FormItems(cat *i18n.Catalogue, p *i18n.Printer, prefix string) *Items {
	return &Items{P: p, cat: cat, Prefix: prefix}
}

func (b *Items) field(name, value string, args ...map[string]any) ui.Field {
	f := ui.Field{Name: name, Value: value, Label: b.P.T(b.Prefix+"."+name, args...)}
	if hint := b.Prefix + "." + name + ".hint"; b.cat.Has(hint) {
		f.Hint = b.P.T(hint, args...)
	}
	return f
}

func (b *Items) Text(name, value string) {
	b.List = append(b.List, ui.FormItem{Field: b.field(name, value)})
}

func (b *Items) OptionalText(name, value string) {
	f := b.field(name, value)
	f.Optional = true
	b.List = append(b.List, ui.FormItem{Field: f})
}

func (b *Items) Secret(name string) {
	f := b.field(name, "")
	f.Type, f.Complete = "password", "new-password"
	b.List = append(b.List, ui.FormItem{Field: f})
}

func (b *Items) Number(name, value, mode string, optional bool, args ...map[string]any) {
	f := b.field(name, value, args...)
	f.Mode, f.Width, f.Optional = mode, "w-num", optional
	b.List = append(b.List, ui.FormItem{Field: f})
}

func (b *Items) Date(name, value string, optional bool) {
	f := b.field(name, value)
	f.Type, f.Width, f.Optional = "date", "w-date", optional
	b.List = append(b.List, ui.FormItem{Field: f})
}

func (b *Items) Pick(name, value string, options []ui.Option) {
	b.List = append(b.List, ui.FormItem{Field: b.field(name, value), Kind: ui.SelectItem, Options: options})
}

func (b *Items) Tiles(name, value string, options []ui.Option) {
	b.List = append(b.List, ui.FormItem{Field: b.field(name, value), Kind: ui.TilesItem, Options: options})
}

func (b *Items) OptionalTiles(name, value string, options []ui.Option) {
	b.Tiles(name, value, options)
	b.List[len(b.List)-1].Optional = true
}

func (b *Items) Tick(name string, on bool) {
	b.List = append(b.List, ui.FormItem{Field: b.field(name, ""), Kind: ui.CheckItem, Checked: on})
}

func (b *Items) Area(name, value string) {
	f := b.field(name, value)
	f.Optional = true
	b.List = append(b.List, ui.FormItem{Field: f, Kind: ui.AreaItem})
}

// Fold moves items behind the others, into a fold: today they need not be filled in.
func (b *Items) Fold(names ...string) {
	for i := range b.List {
		b.List[i].Folded = slices.Contains(names, b.List[i].Name)
	}
	slices.SortStableFunc(b.List, func(x, y ui.FormItem) int {
		switch {
		case x.Folded == y.Folded:
			return 0
		case y.Folded:
			return -1
		}
		return 1
	})
}

// Problems shows problems with the labels of this form, in the order of its
// fields.
func (b *Items) Problems(ps []logbook.Problem) ui.Problems {
	place := func(field string) int {
		return slices.IndexFunc(b.List, func(it ui.FormItem) bool { return it.Name == field })
	}
	ps = slices.Clone(ps)
	for i := range ps {
		if ps[i].Key == keyEditConflict || ps[i].Key == keyEditConflictEmpty {
			ps[i] = b.storedNow(ps[i])
		}
	}
	slices.SortStableFunc(ps, func(x, y logbook.Problem) int { return cmp.Compare(place(x.Field), place(y.Field)) })
	return ShowProblems(b.P, ps, func(field string) string {
		if i := place(field); i >= 0 {
			return b.List[i].Label
		}
		if field == "revision" {
			return b.P.T("entry.revision")
		}
		return b.P.T(b.Prefix + "." + field)
	})
}

// ReadThermalUnits reads thermal units in the unit that the hatchery counts in.
// Which one it is cannot be told from the number, so it is asked.
func ReadThermalUnits(f *Form) units.Optional[units.ThermalUnits] {
	v, ok := f.Number("thermal_units").Get()
	if !ok {
		return units.None[units.ThermalUnits]()
	}
	switch units.TemperatureUnit(f.Text("thermal_units_in")) {
	case units.Cel:
		return units.Some(units.ThermalUnits(v))
	case units.DegF:
		return units.Some(units.ThermalUnitsFromFahrenheit(v))
	}
	f.Fail("thermal_units_in", "choice.empty", nil)
	return units.None[units.ThermalUnits]()
}

// NewForm is an empty form for first showing.
func NewForm() *Form { return &Form{Values: map[string][]string{}} }

func (f *Form) Set(field, value string) { f.Values.Set(field, value) }

func (f *Form) SetNumber(field string, v float64, ok bool) {
	if ok {
		f.Values.Set(field, strconv.FormatFloat(v, 'f', -1, 64))
	}
}

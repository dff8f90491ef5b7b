package logbook

import (
	"slices"
	"strings"

	"reddside/internal/civil"
	"reddside/internal/units"
)

// Permit is a permit of the programme to release fish. It covers the seasons that
// name it. What is empty was not told, and is not held against a release.
type Permit struct {
	ID       ID
	Number   string // as on the paper
	Holder   string // an office or a role
	Waters   string // names with ; between
	From, To civil.Date
	MostFish units.Optional[int] // in all its seasons together

	LeastG, MostG   units.Optional[units.Grams]       // mean weight
	LeastMM, MostMM units.Optional[units.Millimetres] // mean length

	Species string // keys with ; between
	Note    string
	Entry
}

var permitFields = []Field[Permit]{
	{Name: "number", access: text(func(p *Permit) *string { return &p.Number }), Most: maxName, Must: true,
		About: "number of the permit"},
	{Name: "holder", access: text(func(p *Permit) *string { return &p.Holder }), Most: maxName,
		About: "office or role that holds it; never a pupil"},
	{Name: "waters", access: text(func(p *Permit) *string { return &p.Waters }), Most: 2 * maxRelease,
		About: "permitted waters, with ; between"},
	{Name: "from", access: date(func(p *Permit) *civil.Date { return &p.From }), Column: "from_on",
		About: "first permitted day"},
	{Name: "to", access: date(func(p *Permit) *civil.Date { return &p.To }), Column: "to_on",
		About: "last permitted day"},
	{Name: "most_fish", access: whole(func(p *Permit) *units.Optional[int] { return &p.MostFish }), Max: 1_000_000,
		Unit: "1", About: "most fish in all"},
	{Name: "least_g", access: number(func(p *Permit) *units.Optional[units.Grams] { return &p.LeastG }), Min: 0.01,
		Max: 1000, Unit: "g", About: "least mean weight"},
	{Name: "most_g", access: number(func(p *Permit) *units.Optional[units.Grams] { return &p.MostG }), Min: 0.01,
		Max: 1000, Unit: "g", About: "most mean weight"},
	{Name: "least_mm", access: number(func(p *Permit) *units.Optional[units.Millimetres] { return &p.LeastMM }),
		Min: 5, Max: 500, Unit: "mm", About: "least mean length"},
	{Name: "most_mm", access: number(func(p *Permit) *units.Optional[units.Millimetres] { return &p.MostMM }),
		Min: 5, Max: 500, Unit: "mm", About: "most mean length"},
	{Name: "species", access: text(func(p *Permit) *string { return &p.Species }), Most: 2 * maxRelease,
		About: "permitted species keys, with ; between"},
	{Name: "note", access: note(func(p *Permit) *string { return &p.Note }), Most: maxNote, About: "note"},
}

// PermitFields are the fields of a permit in the order in which they are shown.
func PermitFields() []Field[Permit] { return permitFields }

// ListOf parts a text of several names with ; or a line end between.
func ListOf(s string) []string {
	var out []string
	for _, x := range strings.FieldsFunc(s, func(r rune) bool { return r == ';' || r == '\n' }) {
		if x = strings.Join(strings.Fields(x), " "); x != "" {
			out = append(out, x)
		}
	}
	return out
}

// SameName reports whether two names are the same but for case and spaces.
func SameName(a, b string) bool {
	return strings.EqualFold(strings.Join(strings.Fields(a), " "), strings.Join(strings.Fields(b), " "))
}

// Allows reports whether the permit says nothing against a name of its list.
func allows(list, name string) bool {
	l := ListOf(list)
	return len(l) == 0 || slices.ContainsFunc(l, func(x string) bool { return SameName(x, name) })
}

// AllowsWater reports whether fish may go into a water.
func (p *Permit) AllowsWater(water string) bool { return allows(p.Waters, water) }

// AllowsSpecies reports whether fish of a species may go.
func (p *Permit) AllowsSpecies(s Species) bool { return allows(p.Species, string(s)) }

// Validate returns what is wrong with the permit.
func (p *Permit) Validate() []Problem {
	out := append(validName("number", p.Number), judge(p, permitFields[1:])...)
	out = append(append(out, wrongYear("from", p.From)...), wrongYear("to", p.To)...)
	if !p.From.IsZero() && !p.To.IsZero() && p.To.Before(p.From) {
		out = append(out, Problem{Field: "to", Key: "date.range"})
	}
	if p.LeastG.OK && p.MostG.OK && p.MostG.V < p.LeastG.V {
		out = append(out, Problem{Field: "most_g", Key: "permit.range"})
	}
	if p.LeastMM.OK && p.MostMM.OK && p.MostMM.V < p.LeastMM.V {
		out = append(out, Problem{Field: "most_mm", Key: "permit.range"})
	}
	for _, s := range ListOf(p.Species) {
		if !Species(s).Valid() {
			out = append(out, Problem{Field: "species", Key: "permit.no_species", Args: Args{"Text": s}})
			break
		}
	}
	return out
}

// ReleasePlace is a place where fish are released.
type ReleasePlace struct {
	ID          ID
	Name        string
	Water       string
	Coordinates string // as they were entered
	Reach       string // stretch of the water
	Note        string
	Entry
}

var placeFields = []Field[ReleasePlace]{
	{Name: "name", access: text(func(p *ReleasePlace) *string { return &p.Name }), Most: maxName, Must: true,
		About: "name of the place", Term: dwc + "locality"},
	{Name: "water", access: text(func(p *ReleasePlace) *string { return &p.Water }), Most: maxRelease,
		About: "receiving water", Term: dwc + "waterBody"},
	{Name: "coordinates", access: text(func(p *ReleasePlace) *string { return &p.Coordinates }), Most: maxName,
		About: "coordinates as they were entered", Term: dwc + "verbatimCoordinates"},
	{Name: "reach", access: text(func(p *ReleasePlace) *string { return &p.Reach }), Most: maxRelease,
		About: "stretch of the water"},
	{Name: "note", access: note(func(p *ReleasePlace) *string { return &p.Note }), Most: maxNote, About: "note"},
}

// PlaceFields are the fields of a place of release in the order in which they are shown.
func PlaceFields() []Field[ReleasePlace] { return placeFields }

// Validate returns what is wrong with the place.
func (p *ReleasePlace) Validate() []Problem {
	return append(validName("name", p.Name), judge(p, placeFields[1:])...)
}

// PermitOf returns the permit of a release: the one whose number is told, else that of
// the season; nil where neither is known.
func PermitOf(permits []Permit, s *Season, number string) *Permit {
	for i := range permits {
		if p := &permits[i]; number != "" && SameName(p.Number, number) || number == "" && p.ID == s.PermitID {
			return p
		}
	}
	if number != "" {
		return PermitOf(permits, s, "")
	}
	return nil
}

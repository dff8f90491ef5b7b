package school

import (
	"fmt"
	"net/http"
	"slices"
	"strings"

	"github.com/go-chi/chi/v5"

	"reddside/internal/entries"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/units"
	"reddside/internal/web/form"
	"reddside/internal/web/req"
	"reddside/internal/web/ui"
	"reddside/internal/web/words"
)

const permitsPath = "/permits"

// permitWrites are the forms of permits and places of release, for coordinators.
func (s *Service) permitWrites(r chi.Router) {
	s.permitForms().routes(r)
	s.placeForms().routes(r)
	r.Get("/permits/{permitID}/seasons", s.Page(s.permitSeasons))
	r.Post("/permits/{permitID}/seasons", s.Page(s.permitAttach))
}

// rowForms are the forms of rows of the whole programme; their texts begin with prefix.
type rowForms[T any] struct {
	*Service
	prefix, path, id string
	rows             entries.Rows[T]
	// items shows the fields that are not simply listed; it says which it took.
	items func(b *form.Items, f *form.Form, name string) bool
	read  func(f *form.Form, row *T)
}

func (s *Service) permitForms() rowForms[logbook.Permit] {
	return rowForms[logbook.Permit]{Service: s, prefix: "permit", path: permitsPath, id: "permitID",
		rows: s.Entries.Permits(), items: permitSpecies,
		read: func(f *form.Form, p *logbook.Permit) {
			var species []string
			for _, x := range logbook.AllSpecies() {
				if f.Raw("species_"+string(x)) != "" {
					species = append(species, string(x))
				}
			}
			p.Species = strings.Join(species, "; ")
		}}
}

// permitSpecies asks for each species by a tick.
func permitSpecies(b *form.Items, f *form.Form, name string) bool {
	if name != "species" {
		return false
	}
	for i, x := range logbook.AllSpecies() {
		it := ui.FormItem{Kind: ui.CheckItem, Field: ui.Field{Name: "species_" + string(x),
			Label: b.P.T("permit.species_tick", logbook.Args{"Species": x})},
			Checked: f.Raw("species_"+string(x)) != "" || slices.Contains(logbook.ListOf(f.Raw("species")), string(x))}
		if i == 0 {
			it.Hint = b.P.T("permit.species.hint")
		}
		b.List = append(b.List, it)
	}
	return true
}

func (s *Service) placeForms() rowForms[logbook.ReleasePlace] {
	return rowForms[logbook.ReleasePlace]{Service: s, prefix: "place", path: "/release-places", id: "placeID",
		rows: s.Entries.ReleasePlaces()}
}

func (k rowForms[T]) routes(r chi.Router) {
	r.Get(k.path+"/new", k.Page(k.new))
	r.Post(k.path, k.Page(k.create))
	r.Get(k.path+"/{"+k.id+"}/edit", k.Page(k.edit))
	r.Post(k.path+"/{"+k.id+"}/edit", k.Page(k.update))
}

func (k rowForms[T]) form(w http.ResponseWriter, r *http.Request, id logbook.ID, f *form.Form) error {
	b := form.FormItems(k.Cat, req.Of(r).P, k.prefix)
	for _, x := range logbook.Asked(k.rows.Fields) {
		value := f.Raw(x.Name)
		switch {
		case k.items != nil && k.items(b, f, x.Name):
		case x.Type == logbook.OfDay:
			b.Date(x.Name, value, true)
		case x.Type == logbook.OfNote:
			b.Area(x.Name, value)
		case x.Type == logbook.OfWhole:
			b.Number(x.Name, value, "numeric", true)
		case x.Type == logbook.OfNumber:
			b.Number(x.Name, value, "decimal", true)
		case x.Must:
			b.Text(x.Name, value)
		default:
			b.OptionalText(x.Name, value)
		}
	}
	verb, action, hidden := "new", k.path, ui.Option{Value: "key", Label: f.Raw("key")}
	if id != "" {
		verb, action = "edit", k.path+"/"+string(id)+"/edit"
		hidden = ui.Option{Value: "revision", Label: f.Raw("revision")}
		takeBackItems(b, f)
	}
	m := k.FormPage(r, b, verb, "lots", action, permitsPath)
	m.Intro, m.Hidden = b.P.T(k.prefix+".intro"), []ui.Option{hidden}
	return k.ShowForm(w, r, m, b, f.Problems)
}

func (k rowForms[T]) new(w http.ResponseWriter, r *http.Request) error {
	f := form.NewForm()
	f.Set("key", string(logbook.NewID()))
	return k.form(w, r, "", f)
}

// typed reads the fields of a row; other problems than those of single values are
// judged when it is stored.
func (k rowForms[T]) typed(f *form.Form, row *T) {
	form.ReadFields(f, k.rows.Fields, units.Cel, row)
	if k.read != nil {
		k.read(f, row)
	}
}

func (k rowForms[T]) create(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	f, err := form.ReadForm(r)
	if err != nil {
		return err
	}
	var row T
	k.typed(f, &row)
	if len(f.Problems) == 0 {
		err = entries.CreateOnce(form.FormKey(f.Text("key")), "POST "+k.path, row,
			func(once store.IdempotencyKey) error {
				answered, err := k.DB.Answered(r.Context(), v.Actor, once)
				if err == nil {
					_, err = k.rows.New(r.Context(), v.Actor, row, v.Now, once, answered)
				}
				return err
			})
	}
	if f.Refused(err); len(f.Problems) > 0 {
		return k.form(w, r, "", f)
	}
	if err != nil {
		return err
	}
	return k.Saved(w, r, permitsPath)
}

func (k rowForms[T]) stored(r *http.Request) (T, error) {
	return k.rows.One(r.Context(), req.URLID(r, k.id))
}

func (k rowForms[T]) values(p *i18n.Printer, row *T) *form.Form {
	return form.Filled(p, k.rows.Fields, units.Cel, row, k.rows.Entry(row).Revision)
}

func (k rowForms[T]) edit(w http.ResponseWriter, r *http.Request) error {
	row, err := k.stored(r)
	if err != nil {
		return err
	}
	return k.form(w, r, *k.rows.ID(&row), k.values(req.Of(r).P, &row))
}

func (k rowForms[T]) update(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	have, err := k.stored(r)
	if err != nil {
		return err
	}
	f, err := form.ReadForm(r)
	if err != nil {
		return err
	}
	row, id, void := have, *k.rows.ID(&have), f.Raw("remove") != ""
	why := form.ReadWhy(f)
	if !void {
		k.typed(f, &row)
	}
	k.rows.Entry(&row).Revision = f.Revision()
	if len(f.Problems) == 0 {
		_, err = k.rows.Change(r.Context(), v.Actor, row, void, why, v.Now)
	}
	if req.IsStale(err) {
		now, err := k.stored(r)
		if err != nil {
			return err
		}
		f.EditConflict(k.values(v.P, &now), k.rows.Entry(&now).Revision)
		return k.form(w, r, id, f)
	}
	if f.Refused(err); len(f.Problems) > 0 {
		return k.form(w, r, id, f)
	}
	if err != nil {
		return err
	}
	return k.Saved(w, r, permitsPath)
}

// permitList shows permits and places to staff, with what is still allowed.
func (s *Service) permitList(w http.ResponseWriter, r *http.Request) error {
	v, p := req.Of(r), req.Of(r).P
	permits, err := s.DB.Permits(r.Context())
	if err != nil {
		return err
	}
	places, err := s.DB.ReleasePlaces(r.Context())
	if err != nil {
		return err
	}
	under, err := s.DB.PermitSeasons(r.Context())
	if err != nil {
		return err
	}
	m := PermitList{Page: s.NewPage(r, "permit.list", "lots"), MayEdit: v.Actor.Role == logbook.Coordinator}
	for i := range permits {
		x := &permits[i]
		n, err := s.DB.ReleasedUnder(r.Context(), x, "")
		if err != nil {
			return err
		}
		row := PermitRow{ID: string(x.ID), Number: x.Number, Holder: x.Holder, Note: x.Note,
			Waters: strings.Join(logbook.ListOf(x.Waters), "; "), Days: permitDays(p, x), Sizes: permitSizes(p, x),
			Fish: p.T("permit.released", logbook.Args{"N": n}), Tanks: p.T("permit.tanks",
				map[string]any{"Count": len(under[x.ID])})}
		if most, ok := x.MostFish.Get(); ok {
			row.Fish = p.T("permit.released_of", logbook.Args{"N": n, "Most": most})
		}
		for _, key := range logbook.ListOf(x.Species) {
			row.Species = append(row.Species, p.T(logbook.Species(key).MessageKey()))
		}
		m.Permits = append(m.Permits, row)
	}
	for i := range places {
		x := &places[i]
		m.Places = append(m.Places, PlaceRow{ID: string(x.ID), Name: x.Name, Water: x.Water,
			Coordinates: x.Coordinates, Reach: x.Reach, Note: x.Note})
	}
	return s.Render(w, r, http.StatusOK, PermitListPage(m))
}

func permitDays(p *i18n.Printer, x *logbook.Permit) string {
	switch {
	case !x.From.IsZero() && !x.To.IsZero():
		return p.T("permit.days", logbook.Args{"From": x.From, "To": x.To})
	case !x.From.IsZero():
		return p.T("permit.days_from", logbook.Args{"From": x.From})
	case !x.To.IsZero():
		return p.T("permit.days_to", logbook.Args{"To": x.To})
	}
	return ""
}

func permitSizes(p *i18n.Printer, x *logbook.Permit) string {
	var out []string
	for _, f := range logbook.PermitFields() {
		if f.Type == logbook.OfNumber && f.Said(x) {
			out = append(out, fmt.Sprintf("%s: %s", p.T("permit."+f.Name), words.Typed(p, f.Number(x).V)))
		}
	}
	return strings.Join(out, "; ")
}

// permitSeasons asks which open seasons are under a permit.
func (s *Service) permitSeasons(w http.ResponseWriter, r *http.Request) error {
	x, err := s.permitForms().stored(r)
	if err != nil {
		return err
	}
	v := req.Of(r)
	under, err := s.DB.PermitSeasons(r.Context())
	if err != nil {
		return err
	}
	all, err := s.Assess.BoardEntries(r.Context(), v.Actor, v.Now)
	if err != nil {
		return err
	}
	b := form.FormItems(s.Cat, v.P, "permit")
	for _, e := range all {
		b.List = append(b.List, ui.FormItem{Kind: ui.CheckItem, Checked: slices.Contains(under[x.ID], e.SeasonID),
			Field: ui.Field{Name: "season_" + string(e.SeasonID), Label: e.Site.Name + ", " + e.Tank.Name}})
	}
	m := s.FormPage(r, b, "seasons", "lots", permitsPath+"/"+string(x.ID)+"/seasons", permitsPath)
	m.Title = v.P.T("permit.seasons", logbook.Args{"Number": x.Number})
	m.Intro = v.P.T("permit.seasons.intro")
	return s.ShowForm(w, r, m, b, nil)
}

func (s *Service) permitAttach(w http.ResponseWriter, r *http.Request) error {
	x, err := s.permitForms().stored(r)
	if err != nil {
		return err
	}
	v := req.Of(r)
	f, err := form.ReadForm(r)
	if err != nil {
		return err
	}
	all, err := s.Assess.BoardEntries(r.Context(), v.Actor, v.Now)
	if err != nil {
		return err
	}
	var attach, detach []logbook.ID
	for _, e := range all {
		if f.Raw("season_"+string(e.SeasonID)) != "" {
			attach = append(attach, e.SeasonID)
		} else {
			detach = append(detach, e.SeasonID)
		}
	}
	if err := s.Entries.AttachPermit(r.Context(), v.Actor, x.ID, attach, detach, v.Now); err != nil {
		return err
	}
	return s.Saved(w, r, permitsPath)
}

package req

import (
	"context"
	"net/http"
	"path"
	"time"

	"github.com/go-chi/chi/v5"

	"reddside/internal/assess"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/units"
	"reddside/internal/web/ui"
)

// Info is what is known of a request before its handler runs: who asks, when,
// and in which language and unit the answer is to be.
type Info struct {
	ID        string // reference number, in the log and on error pages
	Now       time.Time
	Actor     logbook.Actor // zero Role when nobody is signed in
	P         *i18n.Printer
	Programme logbook.Programme     // zero before set-up
	Bearer    bool                  // signed in by token: no cookie, so no cross-site danger
	Device    bool                  // a paired tablet
	unit      units.TemperatureUnit // that the person chose to read in; "" for none
}

type visitKey struct{}

func Of(r *http.Request) *Info {
	v, _ := r.Context().Value(visitKey{}).(*Info)
	return v
}

func With(r *http.Request, v *Info) *http.Request {
	return r.WithContext(context.WithValue(r.Context(), visitKey{}, v))
}

func (v *Info) SignedIn() bool { return v.Actor.Role.Valid() }

// NewPage starts the view model of a page titled by a message key.
func (s *Kernel) NewPage(r *http.Request, titleKey, nav string) ui.Page {
	v := Of(r)
	return ui.Page{
		P: v.P, Title: v.P.T(titleKey), Assets: s.Assets.Prefix, Path: s.pathBack(r), Nav: nav,
		Role: v.Actor.Role, Device: v.Device, Label: v.Actor.Label, Invented: v.Programme.Invented,
		Notice: s.popNotice(r, v), Others: s.otherLanguages(v.P.Lang()), Version: s.Computer.Version,
	}
}

// otherLanguages are those that a page can be read in beside its own, each by the
// name that it has for itself.
func (s *Kernel) otherLanguages(own string) []ui.Option {
	var out []ui.Option
	for _, l := range s.Cat.Languages() {
		if l != own {
			out = append(out, ui.Option{Value: l, Label: s.Cat.Printer(l, units.Cel).T("language." + l)})
		}
	}
	return out
}

// pathBack is the address at which the page of a request can be opened again: the
// form's own when it came back with problems.
func (s *Kernel) pathBack(r *http.Request) string {
	routes, ok := s.Handler.(chi.Routes)
	if r.Method == http.MethodGet || r.Method == http.MethodHead || !ok {
		return r.URL.RequestURI()
	}
	for _, address := range []string{r.URL.Path + "/new", r.URL.Path} {
		if routes.Match(chi.NewRouteContext(), http.MethodGet, address) {
			return address
		}
	}
	return path.Dir(r.URL.Path)
}

// InSite returns the printer in the unit of a site, of whose thermometer a form
// asks.
func (s *Kernel) InSite(v *Info, site logbook.Site) *i18n.Printer {
	if v.P.Unit() == site.TemperatureUnit || !site.TemperatureUnit.Valid() {
		return v.P
	}
	return v.P.In(site.TemperatureUnit)
}

func UnitOr(u, def units.TemperatureUnit) units.TemperatureUnit {
	if u.Valid() {
		return u
	}
	return def
}

// URLID is an id of the address.
func URLID(r *http.Request, name string) logbook.ID { return logbook.ID(chi.URLParam(r, name)) }

// ReaderZone is the zone that a reader's times are written in: of their school,
// or of the first school on the board.
func (s *Kernel) ReaderZone(v *Info, all []*assess.BoardEntry) string {
	for _, e := range all {
		if v.Actor.SiteID == "" || e.Site.ID == v.Actor.SiteID {
			return e.Site.Zone
		}
	}
	return "UTC"
}

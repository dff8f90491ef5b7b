package web

import (
	"context"
	"net/http"
	"path"
	"time"

	"github.com/go-chi/chi/v5"

	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/units"
	"reddside/internal/web/view"
)

// visit is what is known of a request before its handler runs: who asks, when,
// and in which language and unit the answer is to be.
type visit struct {
	id        string // reference number, in the log and on error pages
	now       time.Time
	actor     logbook.Actor // zero Role when nobody is signed in
	p         *i18n.Printer
	programme logbook.Programme     // zero before set-up
	bearer    bool                  // signed in by token: no cookie, so no cross-site danger
	device    bool                  // a paired tablet
	unit      units.TemperatureUnit // that the person chose to read in; "" for none
}

type visitKey struct{}

func visitOf(r *http.Request) *visit {
	v, _ := r.Context().Value(visitKey{}).(*visit)
	return v
}

func withVisit(r *http.Request, v *visit) *http.Request {
	return r.WithContext(context.WithValue(r.Context(), visitKey{}, v))
}

func (v *visit) signedIn() bool { return v.actor.Role.Valid() }

// page starts the view model of a page titled by a message key.
func (s *Server) newPage(r *http.Request, titleKey, nav string) view.Page {
	v := visitOf(r)
	return view.Page{
		P: v.p, Title: v.p.T(titleKey), Assets: s.assets.prefix, Path: s.pathBack(r), Nav: nav,
		Role: v.actor.Role, Device: v.device, Label: v.actor.Label, Invented: v.programme.Invented,
		Notice: s.popNotice(r, v), Others: s.otherLanguages(v.p.Lang()),
	}
}

// otherLanguages are those that a page can be read in beside its own, each by the
// name that it has for itself.
func (s *Server) otherLanguages(own string) []view.Option {
	var out []view.Option
	for _, l := range s.cat.Languages() {
		if l != own {
			out = append(out, view.Option{Value: l, Label: s.cat.Printer(l, units.Cel).T("language." + l)})
		}
	}
	return out
}

// pathBack is the address at which the page of a request can be opened again: the
// form's own when it came back with problems.
func (s *Server) pathBack(r *http.Request) string {
	routes, ok := s.handler.(chi.Routes)
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

// reading returns the printer of a page that is only read: in the unit that the
// person chose, else in that of the site.
func (s *Server) reading(v *visit, site logbook.Site) *i18n.Printer {
	if v.unit.Valid() {
		return v.p.In(v.unit)
	}
	return s.inSite(v, site)
}

// inSite returns the printer in the unit of a site, of whose thermometer a form
// asks.
func (s *Server) inSite(v *visit, site logbook.Site) *i18n.Printer {
	if v.p.Unit() == site.TemperatureUnit || !site.TemperatureUnit.Valid() {
		return v.p
	}
	return v.p.In(site.TemperatureUnit)
}

func unitOr(u, def units.TemperatureUnit) units.TemperatureUnit {
	if u.Valid() {
		return u
	}
	return def
}

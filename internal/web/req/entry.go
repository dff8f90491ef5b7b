package req

import (
	"net/http"
	"slices"
	"strings"
	"time"

	"reddside/internal/entries"
	"reddside/internal/logbook"
	"reddside/internal/units"
	"reddside/internal/web/form"
	"reddside/internal/web/ui"
	"reddside/internal/web/words"
)

// HeaderWaiting marks an entry that a script sends, from its form or later from
// those that wait on the device. The script shows the page itself, so it gets a
// bare status: 201 with the address of what is stored, or 401.
const HeaderWaiting = "Reddside-Waiting"

func SentByScript(r *http.Request) bool { return r.Header.Get(HeaderWaiting) != "" }

// Sent is an entry that a form sends to a season: its key, what could not be
// read, and the surprising values whose box is ticked or that were confirmed
// before and stayed as they were.
func Sent(r *http.Request, season *logbook.Season, f *form.Form) entries.Sent {
	v := Of(r)
	return entries.Sent{Actor: v.Actor, Season: season, Now: v.Now, Key: form.FormKey(f.Text("key")),
		Unread: f.Problems,
		Confirmed: func(field string) bool {
			// "was_confirmed" holds fields and values, one a line: a changed value is asked
			// about again.
			said := strings.Split(strings.ReplaceAll(strings.Join(f.Values["was_confirmed"], "\n"), "\r", ""), "\n")
			return slices.Contains(f.Values["confirm"], field) || slices.Contains(said, field+"="+f.Text(field))
		}}
}

// ReadTAN turns the ammonia that was typed in a check form into nitrogen: in what
// the form asked for, else in what the kit of the school counts.
func (s *Kernel) ReadTAN(r *http.Request, f *form.Form, c *logbook.Check, season *logbook.Season) error {
	if !c.TAN.OK {
		return nil
	}
	basis := logbook.KitBasis(f.Text("tan_basis"))
	if !basis.Valid() {
		k, err := s.DB.Kit(r.Context(), season.Site.ID)
		if err != nil {
			return err
		}
		basis = k.Basis
	}
	c.TAN.V = words.KitAsN(c.TAN.V, basis)
	return nil
}

// KitInForm tells the check form what its ammonia field counts.
func (s *Kernel) KitInForm(r *http.Request, m *ui.CheckForm, season *logbook.Season) error {
	k, err := s.DB.Kit(r.Context(), season.Site.ID)
	if err != nil {
		return err
	}
	m.TANHint = m.T("kit.hint_unknown")
	if k.Known() {
		m.TANLabel = m.T("kit.field", logbook.Args{"As": m.T("kit.short." + string(k.Basis))})
		m.TANHint = m.T("kit.hint", logbook.Args{"Kit": k.Name})
		m.Hidden = append(m.Hidden, ui.Option{Value: "tan_basis", Label: string(k.Basis)})
	}
	return nil
}

// lastZone is where a day begins first on earth.
var lastZone = time.FixedZone("UTC+14", 14*3600)

// ReadDelivery reads a sent form of a delivery into d, and does not judge it.
func ReadDelivery(f *form.Form, d logbook.Delivery, site logbook.Site) logbook.Delivery {
	form.ReadFields(f, logbook.DeliveryFields(), UnitOr(site.TemperatureUnit, units.Cel), &d)
	return d
}

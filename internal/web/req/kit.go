package req

import (
	"net/http"

	"reddside/internal/logbook"
	"reddside/internal/web/form"
	"reddside/internal/web/ui"
	"reddside/internal/web/words"
)

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

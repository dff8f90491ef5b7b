package req

import (
	"net/http"

	"reddside/internal/logbook"
)

// FlagDone says what was done and leads back to where the person came from.
func (s *Kernel) FlagDone(w http.ResponseWriter, r *http.Request, notice string, season logbook.ID) error {
	s.Sessions.Put(r.Context(), KeyNotice, notice)
	back := SafeNext(r.PostFormValue("back"))
	if back == "/" {
		back = "/seasons/" + string(season)
	}
	http.Redirect(w, r, back, http.StatusSeeOther)
	return nil
}

package school

import (
	"net/http"
	"path/filepath"
	"slices"
	"time"

	"github.com/go-chi/chi/v5"

	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/replica"
	"reddside/internal/store"
	"reddside/internal/web/req"
	"reddside/internal/web/words"
)

// copiesRoutes are the coordinator's look at the copies of the logbook.
func (s *Service) copiesRoutes(r chi.Router) {
	r.Get("/copies", s.Page(s.copiesShow))
	r.Post("/copies/prove", s.Page(s.copiesProve))
}

// copiesShown is how many backups of this disk are listed, the newest first.
const copiesShown = 14

func (s *Service) copiesShow(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	zone := logbook.Site{Zone: "UTC"}
	sites, err := s.DB.Sites(r.Context())
	if err != nil {
		return err
	}
	if len(sites) > 0 {
		zone = sites[0]
	}
	m := Copies{Page: s.NewPage(r, "copies.title", ""), Folder: s.BackupDir()}
	newest := m.Folder
	list, err := store.ReadCopies(m.Folder, v.Now)
	if err != nil {
		return err
	}
	for i, c := range slices.Backward(list) {
		if len(list)-i > copiesShown {
			break
		}
		row := CopyRow{At: words.AtSite(v.P, zone, c.CreatedAt), File: c.File,
			Size: v.P.Num(float64(c.Bytes)/1e6, 1) + "\u00a0MB", Doubt: v.P.T("copies.sound")}
		if c.Doubt != "" {
			row.Doubt = v.P.T("copies.doubt_" + string(c.Doubt))
		}
		m.Local = append(m.Local, row)
	}
	if n := len(list); n > 0 {
		newest = filepath.Join(m.Folder, list[n-1].File)
	}
	if s.Replica != nil {
		showReplica(&m, v.P, s.Replica.State(), v.Now, zone)
		newest = m.Place
	}
	m.RestoreCmd = "server restore -data " + filepath.Dir(s.DB.Path()) + " -from " + newest
	return s.Render(w, r, http.StatusOK, CopiesPage(m))
}

// showReplica says how the copy elsewhere stands.
func showReplica(m *Copies, p *i18n.Printer, st replica.State, now time.Time, zone logbook.Site) {
	m.Place = st.Place
	behind := st.Behind(now)
	m.Late = behind > replica.Late
	switch {
	case st.InStepAt.IsZero() && !m.Late && st.Err == "":
		m.Stands = p.T("copies.begins")
	case behind < time.Minute:
		m.Stands = p.T("copies.in_step", logbook.Args{"At": words.AtSite(p, zone, st.InStepAt)})
	default:
		m.Stands = p.T("copies.behind", logbook.Args{"Count": int(behind.Minutes())})
	}
	if st.Err != "" {
		m.Hindered = p.T("copies.hindered", logbook.Args{"Why": st.Err})
	}
	at := logbook.Args{"At": words.AtSite(p, zone, st.Proof.At), "Changes": int(st.Proof.Changes), "Rows": int(st.Proof.Rows),
		"Why": st.Proof.Err}
	switch {
	case st.Proof.At.IsZero():
	case st.Proof.Err == "":
		m.Proof = p.T("copies.proven", at)
	default:
		m.Proof, m.ProofFailed = p.T("copies.unproven", at), true
	}
}

// copiesProve restores the copy elsewhere and compares it with the logbook.
func (s *Service) copiesProve(w http.ResponseWriter, r *http.Request) error {
	if s.Replica == nil {
		return logbook.Errorf(logbook.Conflict, "copies.none_kept", nil)
	}
	_, _ = s.Replica.Prove(r.Context()) // the page says what came of it
	http.Redirect(w, r, "/copies", http.StatusSeeOther)
	return nil
}

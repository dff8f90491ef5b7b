package school

import (
	"net/http"
	"path/filepath"

	"github.com/go-chi/chi/v5"

	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/web/form"
	"reddside/internal/web/req"
	"reddside/internal/web/ui"
	"reddside/internal/web/words"
)

// computerPath is the page of the computer that Reddside runs on.
const computerPath = "/computer"

// computerRoutes are the page of this computer and its switch.
func (s *Service) computerRoutes(r chi.Router) {
	r.Get(computerPath, s.Page(s.computerShow))
	r.Post(computerPath, s.Page(s.computerOpen))
}

// Computer is where the logbook lies and how tablets reach it.
type Computer struct {
	ui.Page
	Here     bool // the reader sits at this computer
	Folder   string
	Version  string
	Copy     string // when the last copy was made
	Switch   bool   // there is one
	Open     bool
	URLs     []string
	QR       QR
	Pair     string // where tablets are paired
	MoveAway bool
}

func (s *Service) computerShow(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	m := Computer{Page: s.NewPage(r, "computer.title", ""), Here: req.AtThisComputer(r),
		Folder: filepath.Dir(s.DB.Path()), Version: s.Computer.Version, Switch: s.Computer.SetOpen != nil,
		MoveAway: v.Actor.Role == logbook.Coordinator, Pair: "/sites"}
	m.Styles = []string{"tablet.css"}
	if v.Actor.SiteID != "" {
		m.Pair = ui.SitePath(v.Actor.SiteID, "/tablets")
	}
	m.Open = m.Switch && s.Computer.Open()
	list, err := store.ReadCopies(s.BackupDir(), v.Now)
	if err != nil {
		return err
	}
	sites, err := s.DB.Sites(r.Context())
	if err != nil {
		return err
	}
	zone := logbook.Site{Zone: "UTC"}
	if len(sites) > 0 {
		zone = sites[0]
	}
	if len(sites) == 1 {
		m.Pair = ui.SitePath(zone.ID, "/tablets")
	}
	if at := list.Sound().LastAt(); !at.IsZero() {
		m.Copy = words.AtSite(v.P, zone, at)
	}
	addresses := s.tabletAddresses(r, nil)
	m.URLs, m.QR = addresses.URLs, addresses.QR
	return s.Render(w, r, http.StatusOK, ComputerPage(m))
}

// computerOpen turns the switch. Only who sits at the computer opens it to others.
func (s *Service) computerOpen(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	switch {
	case s.Computer.SetOpen == nil:
		return logbook.Errorf(logbook.Conflict, "computer.fixed", nil)
	case !req.AtThisComputer(r):
		return logbook.Errorf(logbook.Forbidden, "computer.elsewhere", nil)
	}
	f, err := form.ReadForm(r)
	if err != nil {
		return err
	}
	on := f.Text("open") == "yes"
	if err := s.Computer.SetOpen(on); err != nil {
		return &logbook.Error{Kind: logbook.Unavailable, Key: "computer.failed", Args: logbook.Args{"Why": err.Error()},
			Err: err}
	}
	key := "computer.now_closed"
	if on {
		key = "computer.now_open"
	}
	s.SetNotice(r, v.P.T(key))
	http.Redirect(w, r, computerPath, http.StatusSeeOther)
	return nil
}

package imports

import (
	"encoding/json"
	"errors"
	"io"
	"net/http"

	"github.com/go-chi/chi/v5"

	"reddside/internal/civil"
	"reddside/internal/entries"
	"reddside/internal/i18n"
	"reddside/internal/ingest"
	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/web/form"
	"reddside/internal/web/req"
	"reddside/internal/web/ui"
	"reddside/internal/web/words"
)

// importRoutes are logger files and logbook files: choose one, look at it, store
// it. A file waits in the spool between the steps.
func (s *Service) importRoutes(r chi.Router) {
	r.Get("/seasons/{seasonID}/import", s.Page(s.importShow))
	r.Post("/seasons/{seasonID}/import", s.Page(s.importUpload))
	r.Get("/seasons/{seasonID}/import/{uploadID}", s.Page(s.importLook))
	r.Post("/seasons/{seasonID}/import/{uploadID}", s.Page(s.importStore))
	r.Get("/seasons/{seasonID}/import/{uploadID}/refused.csv", s.Page(s.importRefusedNow))
	r.Get("/seasons/{seasonID}/imports/{importID}", s.Page(s.importResult))
	r.Post("/seasons/{seasonID}/imports/{importID}/void", s.Page(s.importVoid))
	r.Get("/seasons/{seasonID}/imports/{importID}/refused.csv", s.Page(s.importRefused))
}

func (s *Service) importHead(r *http.Request, titleKey string, season *logbook.Season) ImportHead {
	p := s.NewPage(r, titleKey, "board")
	p.P = s.InSite(req.Of(r), season.Site)
	p.Styles = []string{"import.css"}
	base := ui.SeasonPath(season.ID)
	return ImportHead{Page: p, Tank: season.Tank.Name, Site: season.Site.Name, TankHref: base, BackHref: base +
		"/import"}
}

func (s *Service) importShow(w http.ResponseWriter, r *http.Request) error {
	season, err := s.SeasonOf(r)
	if err != nil {
		return err
	}
	return s.renderImport(w, r, http.StatusOK, season, nil)
}

// renderImport shows the page on which a file is chosen.
func (s *Service) renderImport(w http.ResponseWriter, r *http.Request, status int, season *logbook.Season,
	problems []logbook.Problem) error {
	past, err := s.DB.Imports(r.Context(), season.ID)
	if err != nil {
		return err
	}
	m := ImportPage{ImportHead: s.importHead(r, "import.title", season)}
	m.Error = len(problems) > 0
	m.Problems = form.ShowProblems(m.P, problems, func(field string) string {
		if field == "checks_file" {
			return m.T("import.checks.file")
		}
		return m.T("import.readings.file")
	})
	if season.StartedOn().IsZero() {
		m.Waiting = m.T("import.waiting")
	}
	for _, im := range past {
		d := storedDialect(im)
		series := d.Series
		if im.Voided != nil {
			series = m.T("import.past.voided", logbook.Args{"Reason": im.Voided.Reason})
		}
		m.Past = append(m.Past, ImportPast{Href: m.TankHref + ui.ImportPath(im.ID),
			At:   longWhen(m.P, season, im.ReceivedAt),
			File: fileLabel(m.P, im.FileName), Series: series, Added: m.P.Count(im.Added),
			Refused: m.P.Count(RefusedRows(im.Refused)),
			By:      words.ByRole(m.P, logbook.Entry{By: im.By, ByLabel: im.ByLabel})})
	}
	return s.Render(w, r, status, ImportPageView(m))
}

func fileLabel(p *i18n.Printer, name string) string {
	if name == "" {
		return p.T("import.no_name")
	}
	return name
}

// storedDialect reads how a file was understood; an import of another program
// may say nothing.
func storedDialect(im store.Import) (d entries.ImportDialect) {
	_ = json.Unmarshal([]byte(im.Dialect), &d)
	return d
}

// RefusedRows counts the rows behind the entries of a list.
func RefusedRows(list []store.Refused) int {
	n := 0
	for _, r := range list {
		k := 1
		if c, ok := entries.ReadBack(r).Args["Count"].(int); ok {
			k = c
		}
		n += k
	}
	return n
}

// importUpload takes a file, refuses one that cannot be used, and keeps the rest
// for the next step.
func (s *Service) importUpload(w http.ResponseWriter, r *http.Request) error {
	season, err := s.SeasonOf(r)
	if err != nil {
		return err
	}
	u, err := readUpload(r)
	if err != nil {
		return err
	}
	field := "file"
	if u.Kind == uploadChecks {
		field = "checks_file"
	}
	wrong := func(key string, args logbook.Args) error {
		return s.renderImport(w, r, http.StatusUnprocessableEntity, season,
			[]logbook.Problem{{Field: field, Key: key, Args: args}})
	}
	switch {
	case season.StartedOn().IsZero():
		return wrong("import.waiting", nil)
	case u.Data == nil:
		return wrong("import.choose_file", nil)
	}
	if u.Kind == uploadChecks {
		_, _, err = ingest.ReadChecks(u.Data)
	} else {
		_, err = ingest.Detect(u.Data, ingest.Answers{})
	}
	if p := fileProblem(err); p != nil {
		return wrong(p.Key, p.Args)
	}
	if err != nil {
		return err
	}
	u.Owner, u.SeasonID = s.uploadOwner(r), season.ID
	id, err := s.spool().Put(u, req.Of(r).Now)
	if err != nil {
		return err
	}
	http.Redirect(w, r, ui.SeasonPath(season.ID, "/import/")+id, http.StatusSeeOther)
	return nil
}

// fileProblem is why a file cannot be used, or nil.
func fileProblem(err error) *ingest.Problem {
	var fe *ingest.FileError
	if errors.As(err, &fe) {
		return &fe.Problem
	}
	return nil
}

// readUpload reads the parts of a sent form. Data is nil when no file was chosen.
func readUpload(r *http.Request) (Upload, error) {
	u := Upload{Kind: uploadReadings}
	mr, err := r.MultipartReader()
	if err != nil {
		return u, nil // a form without a file
	}
	for {
		part, err := mr.NextPart()
		if err == io.EOF {
			return u, nil
		}
		if err != nil {
			return u, form.Unreadable(err)
		}
		limit := int64(200)
		if part.FileName() != "" {
			limit = req.MaxUpload
		}
		data, err := io.ReadAll(io.LimitReader(part, limit+1))
		if err != nil {
			return u, form.Unreadable(err)
		}
		switch {
		case int64(len(data)) > limit:
			return u, logbook.Errorf(logbook.TooLarge, "error.too_large", logbook.Args{"Max": req.MaxSize(r)})
		case part.FormName() == "kind" && string(data) == uploadChecks:
			u.Kind = uploadChecks
		case part.FileName() != "" && u.Data == nil:
			u.Name, u.Data = entries.CleanFileName(part.FileName()), data
		}
	}
}

// uploadOwner names the session that a file belongs to.
func (s *Service) uploadOwner(r *http.Request) string {
	if req.Of(r).Bearer {
		return store.HashToken(r.Header.Get("Authorization"))
	}
	return store.HashToken(s.Sessions.Token(r.Context()))
}

// uploadOf finds the season and the waiting file of the address. Without the
// file it shows the page to choose it again and returns nil.
func (s *Service) uploadOf(w http.ResponseWriter, r *http.Request) (*logbook.Season, *Upload, error) {
	season, err := s.SeasonOf(r)
	if err != nil {
		return nil, nil, err
	}
	u, ok, err := s.spool().get(chi.URLParam(r, "uploadID"), s.uploadOwner(r), season.ID, req.Of(r).Now)
	if err != nil {
		return nil, nil, err
	}
	if !ok {
		return season, nil, s.renderImport(w, r, http.StatusNotFound, season,
			[]logbook.Problem{{Field: "file", Key: "import.gone"}})
	}
	return season, &u, nil
}

// importLook shows a waiting file. The answers are in the query.
func (s *Service) importLook(w http.ResponseWriter, r *http.Request) error {
	season, u, err := s.uploadOf(w, r)
	if err != nil || u == nil {
		return err
	}
	if u.Kind == uploadChecks {
		return s.renderChecks(w, r, http.StatusOK, season, u, nil)
	}
	return s.renderPreview(w, r, http.StatusOK, season, u, entries.ImportAnswers(r.URL.Query().Get), nil)
}

// importStore takes the answers: with other answers than the page showed it
// shows the file again, else it stores.
func (s *Service) importStore(w http.ResponseWriter, r *http.Request) error {
	season, u, err := s.uploadOf(w, r)
	if err != nil || u == nil {
		return err
	}
	f, err := form.ReadForm(r)
	if err != nil {
		return err
	}
	if u.Kind == uploadChecks {
		return s.storeChecks(w, r, season, u, f)
	}
	return s.storeReadings(w, r, season, u, f)
}

func (s *Service) todayOf(r *http.Request, season *logbook.Season) civil.Date {
	return s.Assess.Today(season.Site, req.Of(r).Now)
}

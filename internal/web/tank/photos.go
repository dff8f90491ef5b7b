package tank

import (
	"bytes"
	"errors"
	"io"
	"net/http"
	"net/url"

	"github.com/go-chi/chi/v5"

	"reddside/internal/logbook"
	"reddside/internal/picture"
	"reddside/internal/web/form"
	"reddside/internal/web/req"
	"reddside/internal/web/ui"
	"reddside/internal/web/words"
)

// MaxPhoto bounds the file of a photograph: more than a telephone makes.
const MaxPhoto = 15 << 20

// photoRoutes are the photographs of a season: who checks a tank may take one.
func (s *Service) photoRoutes(r chi.Router) {
	r.Get("/seasons/{seasonID}/photos", s.Page(s.photosShow))
	r.Post("/seasons/{seasonID}/photos", s.Page(s.photoAdd))
	r.Get("/photos/{photoID}.jpg", s.Page(s.photoFile))
}

func (s *Service) photoStaffRoutes(r chi.Router) {
	r.Post("/photos/{photoID}/remove", s.Page(s.photoRemove))
}

func (s *Service) photosShow(w http.ResponseWriter, r *http.Request) error {
	season, err := s.SeasonOf(r)
	if err != nil {
		return err
	}
	return s.renderPhotos(w, r, http.StatusOK, season, form.NewForm(), "")
}

// renderPhotos shows the photographs and the form for one more. removing is the
// one whose removal has a problem in f, "" when the problem is of a new one.
func (s *Service) renderPhotos(w http.ResponseWriter, r *http.Request, status int, season *logbook.Season, f *form.Form,
	removing logbook.ID) error {
	list, err := s.DB.Photos(r.Context(), season.ID)
	if err != nil {
		return err
	}
	base := ui.SeasonPath(season.ID)
	m := PhotosPage{Page: s.NewPage(r, "photo.title", "board"), Back: season.Tank.Name + ", " + season.Site.Name,
		BackHref:    base,
		ReleaseHref: base + "/release", Action: base + "/photos", Full: len(list) >= logbook.MaxPhotos}
	if m.Role == logbook.Class {
		m.ReleaseHref = ""
	}
	m.Title = m.T("photo.title", logbook.Args{"Tank": season.Tank.Name})
	m.Styles = []string{"release.css"}
	m.Error = len(f.Problems) > 0
	name := func(field string) string {
		if removing != "" {
			return field + "-" + string(removing)
		}
		return field
	}
	problems := make([]logbook.Problem, len(f.Problems))
	for i, p := range f.Problems {
		p.Field = name(p.Field)
		problems[i] = p
	}
	m.Problems = form.ShowProblems(m.P, problems, func(field string) string {
		if removing != "" {
			field = "reason"
		}
		return m.T("photo." + field)
	})
	if removing == "" {
		m.Alt, m.On = f.Raw("alt"), f.Raw("on")
	}
	for _, p := range words.PhotoViews(m.P, list) {
		p.Open = p.ID == string(removing)
		if m.Role == logbook.Class {
			p.RemoveHref = ""
		}
		m.Photos = append(m.Photos, p)
	}
	return s.Render(w, r, status, PhotosPageView(m))
}

// readPhotoForm reads a form with a file; data is nil without one.
func readPhotoForm(r *http.Request) (f *form.Form, data []byte, err error) {
	f = form.NewForm()
	mr, err := r.MultipartReader()
	if err != nil {
		return f, nil, nil // a form without a file
	}
	f.Values = url.Values{}
	for {
		part, err := mr.NextPart()
		if err == io.EOF {
			return f, data, nil
		}
		if err != nil {
			return f, nil, form.Unreadable(err)
		}
		limit := int64(4 << 10)
		if part.FormName() == "photo" {
			limit = MaxPhoto
		}
		body, err := io.ReadAll(io.LimitReader(part, limit+1))
		if err != nil {
			return f, nil, form.Unreadable(err)
		}
		switch {
		case int64(len(body)) > limit:
			f.Fail(part.FormName(), "photo.too_large", logbook.Args{"Max": MaxPhoto >> 20})
		case part.FormName() == "photo" && len(body) > 0:
			data = body
		case part.FormName() != "photo":
			f.Values.Add(part.FormName(), string(body))
		}
	}
}

// photoAdd keeps a photograph: decoded and encoded anew, so that nothing but the
// picture is left.
func (s *Service) photoAdd(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	season, err := s.SeasonOf(r)
	if err != nil {
		return err
	}
	f, data, err := readPhotoForm(r)
	if err != nil {
		return err
	}
	today := s.Assess.Today(season.Site, v.Now)
	p := logbook.Photo{SeasonID: season.ID, Alt: f.Text("alt"), On: f.Date("on")}
	if p.On.IsZero() && !f.Has("on") {
		p.On = today
	}
	check := logbook.ID(f.Text("check"))
	if check != "" && p.Alt == "" { // taken with a check: what it shows is what was seen
		p.Alt = v.P.T("photo.alt_check", logbook.Args{"Tank": season.Tank.Name})
	}
	var jpeg []byte
	switch {
	case f.Has("photo"):
	case data == nil:
		f.Fail("photo", "photo.choose", nil)
	default:
		s.pictures.Lock() // one at a time: a large picture needs much memory
		jpeg, p.Width, p.Height, err = picture.Clean(data)
		s.pictures.Unlock()
		switch {
		case errors.Is(err, picture.ErrKind):
			f.Fail("photo", "photo.kind", nil)
		case errors.Is(err, picture.ErrLarge):
			f.Fail("photo", "photo.pixels", nil)
		case err != nil:
			return err
		}
	}
	f.Add(p.Validate(today))
	if len(f.Problems) == 0 {
		_, err = s.DB.CreatePhoto(r.Context(), v.Actor, p, jpeg, v.Now)
		var e *logbook.Error
		if !errors.As(err, &e) || len(e.Problems) == 0 {
			if err != nil {
				return err
			}
			if check != "" {
				s.SetNotice(r, v.P.T("photo.kept"))
				http.Redirect(w, r, ui.CheckPath(check), http.StatusSeeOther)
				return nil
			}
			return s.Saved(w, r, ui.SeasonPath(season.ID, "/photos"))
		}
		f.Add(e.Problems)
	}
	return s.renderPhotos(w, r, http.StatusUnprocessableEntity, season, f, "")
}

// photoOf loads the photograph of the address for somebody who may see it.
func (s *Service) photoOf(r *http.Request) (logbook.Photo, []byte, *logbook.Season, error) {
	p, jpeg, err := s.DB.Photo(r.Context(), logbook.ID(chi.URLParam(r, "photoID")))
	if err != nil {
		return p, nil, nil, err
	}
	season, err := s.SeasonByID(r, p.SeasonID, "photo")
	return p, jpeg, season, err
}

func (s *Service) photoFile(w http.ResponseWriter, r *http.Request) error {
	p, jpeg, _, err := s.photoOf(r)
	if err != nil {
		return err
	}
	w.Header().Set("Content-Type", "image/jpeg")
	w.Header().Set("Cache-Control", "private, no-cache")
	w.Header().Set("ETag", `"`+string(p.ID)+`"`)
	http.ServeContent(w, r, "", p.ReceivedAt, bytes.NewReader(jpeg))
	return nil
}

func (s *Service) photoRemove(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	p, _, season, err := s.photoOf(r)
	if err != nil {
		return err
	}
	f, err := form.ReadForm(r)
	if err != nil {
		return err
	}
	if f.Text("reason") == "" {
		f.Fail("reason", "error.reason", nil)
		return s.renderPhotos(w, r, http.StatusUnprocessableEntity, season, f, p.ID)
	}
	if err := s.DB.RemovePhoto(r.Context(), v.Actor, p.ID, f.Text("reason"), v.Now); err != nil {
		return err
	}
	s.SetNotice(r, v.P.T("photo.removed"))
	http.Redirect(w, r, ui.SeasonPath(season.ID, "/photos"), http.StatusSeeOther)
	return nil
}

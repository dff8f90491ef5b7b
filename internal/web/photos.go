package web

import (
	"bytes"
	"context"
	"errors"
	"io"
	"net/http"
	"net/url"
	"strconv"

	"github.com/go-chi/chi/v5"

	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/picture"
	"reddside/internal/web/view"
)

// maxPhoto bounds the file of a photograph: more than a telephone makes.
const maxPhoto = 15 << 20

// photoRoutes are the photographs of a season, for staff.
func (s *Server) photoRoutes(r chi.Router) {
	r.Get("/seasons/{seasonID}/photos", s.page(s.photosShow))
	r.Post("/seasons/{seasonID}/photos", s.page(s.photoAdd))
	r.Get("/photos/{photoID}.jpg", s.page(s.photoFile))
	r.Post("/photos/{photoID}/remove", s.page(s.photoRemove))
}

func (s *Server) photosShow(w http.ResponseWriter, r *http.Request) error {
	season, err := s.seasonOf(r)
	if err != nil {
		return err
	}
	return s.renderPhotos(w, r, http.StatusOK, season, newForm(), "")
}

// renderPhotos shows the photographs and the form for one more. removing is the
// one whose removal has a problem in f, "" when the problem is of a new one.
func (s *Server) renderPhotos(w http.ResponseWriter, r *http.Request, status int, season *logbook.Season, f *form, removing logbook.ID) error {
	list, err := s.db.Photos(r.Context(), season.ID)
	if err != nil {
		return err
	}
	base := "/seasons/" + string(season.ID)
	m := view.PhotosPage{Page: s.newPage(r, "photo.title", "board"), Back: season.Tank.Name + ", " + season.Site.Name, BackHref: base,
		ReleaseHref: base + "/release", Action: base + "/photos", Full: len(list) >= logbook.MaxPhotos}
	m.Title = m.T("photo.title", logbook.Args{"Tank": season.Tank.Name})
	m.Styles = []string{"release.css"}
	m.Error = len(f.problems) > 0
	name := func(field string) string {
		if removing != "" {
			return field + "-" + string(removing)
		}
		return field
	}
	problems := make([]logbook.Problem, len(f.problems))
	for i, p := range f.problems {
		p.Field = name(p.Field)
		problems[i] = p
	}
	m.Problems = showProblems(m.P, problems, func(field string) string {
		if removing != "" {
			field = "reason"
		}
		return m.T("photo." + field)
	})
	if removing == "" {
		m.Alt, m.On = f.raw("alt"), f.raw("on")
	}
	for _, p := range photoViews(m.P, list) {
		p.Open = p.ID == string(removing)
		m.Photos = append(m.Photos, p)
	}
	return s.render(w, r, status, view.PhotosPageView(m))
}

func photoViews(p *i18n.Printer, list []logbook.Photo) []view.Photo {
	var out []view.Photo
	for _, x := range list {
		out = append(out, view.Photo{ID: string(x.ID), Src: "/photos/" + string(x.ID) + ".jpg", Alt: x.Alt, Caption: p.Date(x.On) + ": " + x.Alt,
			Width: strconv.Itoa(x.Width), Height: strconv.Itoa(x.Height), RemoveHref: "/photos/" + string(x.ID) + "/remove"})
	}
	return out
}

// readPhotoForm reads a form with a file; data is nil without one.
func readPhotoForm(r *http.Request) (f *form, data []byte, err error) {
	f = newForm()
	mr, err := r.MultipartReader()
	if err != nil {
		return f, nil, nil // a form without a file
	}
	f.values = url.Values{}
	for {
		part, err := mr.NextPart()
		if err == io.EOF {
			return f, data, nil
		}
		if err != nil {
			return f, nil, unreadable(err)
		}
		limit := int64(4 << 10)
		if part.FormName() == "photo" {
			limit = maxPhoto
		}
		body, err := io.ReadAll(io.LimitReader(part, limit+1))
		if err != nil {
			return f, nil, unreadable(err)
		}
		switch {
		case int64(len(body)) > limit:
			f.fail(part.FormName(), "photo.too_large", logbook.Args{"Max": maxPhoto >> 20})
		case part.FormName() == "photo" && len(body) > 0:
			data = body
		case part.FormName() != "photo":
			f.values.Add(part.FormName(), string(body))
		}
	}
}

// photoAdd keeps a photograph: decoded and encoded anew, so that nothing but the
// picture is left.
func (s *Server) photoAdd(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	season, err := s.seasonOf(r)
	if err != nil {
		return err
	}
	f, data, err := readPhotoForm(r)
	if err != nil {
		return err
	}
	today := s.today(season.Site, v.now)
	p := logbook.Photo{SeasonID: season.ID, Alt: f.text("alt"), On: f.date("on")}
	if p.On.IsZero() && !f.has("on") {
		p.On = today
	}
	var jpeg []byte
	switch {
	case f.has("photo"):
	case data == nil:
		f.fail("photo", "photo.choose", nil)
	default:
		s.pictures.Lock() // one at a time: a large picture needs much memory
		jpeg, p.Width, p.Height, err = picture.Clean(data)
		s.pictures.Unlock()
		switch {
		case errors.Is(err, picture.ErrKind):
			f.fail("photo", "photo.kind", nil)
		case errors.Is(err, picture.ErrLarge):
			f.fail("photo", "photo.pixels", nil)
		case err != nil:
			return err
		}
	}
	f.add(p.Validate(today))
	if len(f.problems) == 0 {
		_, err = s.db.CreatePhoto(r.Context(), v.actor, p, jpeg, v.now)
		var e *logbook.Error
		if !errors.As(err, &e) || len(e.Problems) == 0 {
			if err != nil {
				return err
			}
			return s.saved(w, r, "/seasons/"+string(season.ID)+"/photos")
		}
		f.add(e.Problems)
	}
	return s.renderPhotos(w, r, http.StatusUnprocessableEntity, season, f, "")
}

// photoOf loads the photograph of the address for somebody who may see it.
func (s *Server) photoOf(r *http.Request) (logbook.Photo, []byte, *logbook.Season, error) {
	p, jpeg, err := s.db.Photo(r.Context(), logbook.ID(chi.URLParam(r, "photoID")))
	if err != nil {
		return p, nil, nil, err
	}
	season, err := s.seasonByID(r, p.SeasonID, "photo")
	return p, jpeg, season, err
}

func (s *Server) photoFile(w http.ResponseWriter, r *http.Request) error {
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

func (s *Server) photoRemove(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	p, _, season, err := s.photoOf(r)
	if err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	if f.text("reason") == "" {
		f.fail("reason", "error.reason", nil)
		return s.renderPhotos(w, r, http.StatusUnprocessableEntity, season, f, p.ID)
	}
	if err := s.db.RemovePhoto(r.Context(), v.actor, p.ID, f.text("reason"), v.now); err != nil {
		return err
	}
	s.setNotice(r, v.p.T("photo.removed"))
	http.Redirect(w, r, "/seasons/"+string(season.ID)+"/photos", http.StatusSeeOther)
	return nil
}

// reportPhotos are the photographs of a season for its report.
func (s *Server) reportPhotos(ctx context.Context, p *i18n.Printer, season logbook.ID) ([]view.Photo, error) {
	list, err := s.db.Photos(ctx, season)
	return photoViews(p, list), err
}

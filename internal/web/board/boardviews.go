package board

import (
	"errors"
	"net/http"
	"net/url"

	"github.com/go-chi/chi/v5"

	"reddside/internal/assess"
	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/web/form"
	"reddside/internal/web/req"
)

// boardViewRoutes keep choices of the board under a name, for coordinators.
func (s *Service) boardViewRoutes(r chi.Router) {
	r.Get("/board/views", s.Page(s.boardViewList))
	r.Post("/board/views", s.Page(s.boardViewSave))
	r.Post("/board/views/{viewID}/remove", s.Page(s.boardViewRemove))
}

func (s *Service) boardViewList(w http.ResponseWriter, r *http.Request) error {
	return s.boardViewForm(w, r, readBoardChoice(r.URL.Query()), form.NewForm())
}

// boardViewForm lists the kept views and offers to keep the present choice.
func (s *Service) boardViewForm(w http.ResponseWriter, r *http.Request, c BoardChoice, f *form.Form) error {
	v := req.Of(r)
	all, err := s.Assess.BoardEntries(r.Context(), v.Actor, v.Now)
	if err != nil {
		return err
	}
	list, err := s.DB.BoardViews(r.Context())
	if err != nil {
		return err
	}
	m := BoardViews{Page: s.NewPage(r, "board.view.title", "board"), Name: f.Raw("name"), Query: c.query().Encode(),
		Chosen: s.boardChoiceWords(v, all, c)}
	for _, k := range list {
		m.Rows = append(m.Rows, BoardView{ID: string(k.ID), Name: k.Name, Href: "/board?" + k.Query, By: k.CreatedBy,
			Chosen: s.boardChoiceWords(v, all, readBoardChoice(parseQuery(k.Query)))})
	}
	status := http.StatusOK
	if len(f.Problems) > 0 {
		m.Error, status = true, http.StatusUnprocessableEntity
		m.Problems = form.ShowProblems(v.P, f.Problems, func(string) string { return v.P.T("board.view.name") })
	}
	return s.Render(w, r, status, BoardViewsPage(m))
}

// parseQuery reads a stored query; what does not parse is left out.
func parseQuery(text string) url.Values {
	q, _ := url.ParseQuery(text)
	return q
}

// boardChoiceWords says in words what a choice shows.
func (s *Service) boardChoiceWords(v *req.Info, all []*assess.BoardEntry, c BoardChoice) []string {
	f := boardOptions(v.P, all, c)
	var out []string
	for _, o := range f.Sites {
		if o.Value == f.Site {
			out = append(out, v.P.T("board.active", logbook.Args{"What": v.P.T("board.site"), "Value": o.Label}))
		}
	}
	if c.Status != "" {
		out = append(out, v.P.T("board.active", logbook.Args{"What": v.P.T("board.status"),
			"Value": v.P.T(c.Status.MessageKey())}))
	}
	out = append(out, f.Active...)
	if c.Group != "" {
		out = append(out, v.P.T("board.active", logbook.Args{"What": v.P.T("board.group"),
			"Value": v.P.T("board.group." + c.Group)}))
	}
	return out
}

func (s *Service) boardViewSave(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	f, err := form.ReadForm(r)
	if err != nil {
		return err
	}
	c := readBoardChoice(parseQuery(f.Raw("query")))
	k := store.BoardView{Name: f.Text("name"), Query: c.query().Encode()}
	f.Add(logbook.ValidateLabel("name", k.Name))
	if len(f.Problems) == 0 {
		err := s.DB.SaveBoardView(r.Context(), v.Actor, k, v.Now)
		var refused *logbook.Error
		switch {
		case errors.As(err, &refused) && len(refused.Problems) > 0:
			f.Add(refused.Problems)
		case err != nil:
			return err
		}
	}
	if len(f.Problems) > 0 {
		return s.boardViewForm(w, r, c, f)
	}
	s.SetNotice(r, v.P.T("board.view.saved", logbook.Args{"Name": k.Name}))
	http.Redirect(w, r, "/board?"+k.Query, http.StatusSeeOther)
	return nil
}

func (s *Service) boardViewRemove(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	if err := s.DB.RemoveBoardView(r.Context(), v.Actor, logbook.ID(chi.URLParam(r, "viewID")), v.Now); err != nil {
		return err
	}
	s.SetNotice(r, v.P.T("board.view.removed"))
	http.Redirect(w, r, "/board/views", http.StatusSeeOther)
	return nil
}

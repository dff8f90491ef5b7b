package web

import (
	"errors"
	"net/http"
	"net/url"

	"github.com/go-chi/chi/v5"

	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/web/view"
)

// boardViewRoutes keep choices of the board under a name, for coordinators.
func (s *Server) boardViewRoutes(r chi.Router) {
	r.Get("/board/views", s.page(s.boardViewList))
	r.Post("/board/views", s.page(s.boardViewSave))
	r.Post("/board/views/{viewID}/remove", s.page(s.boardViewRemove))
}

func (s *Server) boardViewList(w http.ResponseWriter, r *http.Request) error {
	return s.boardViewForm(w, r, readBoardChoice(r.URL.Query()), newForm())
}

// boardViewForm lists the kept views and offers to keep the present choice.
func (s *Server) boardViewForm(w http.ResponseWriter, r *http.Request, c boardChoice, f *form) error {
	v := visitOf(r)
	all, err := s.boardEntries(r.Context(), v.actor, v.now)
	if err != nil {
		return err
	}
	list, err := s.db.BoardViews(r.Context())
	if err != nil {
		return err
	}
	m := view.BoardViews{Page: s.newPage(r, "board.view.title", "board"), Name: f.raw("name"), Query: c.query().Encode(),
		Chosen: s.boardChoiceWords(v, all, c)}
	for _, k := range list {
		m.Rows = append(m.Rows, view.BoardView{ID: string(k.ID), Name: k.Name, Href: "/board?" + k.Query, By: k.CreatedBy,
			Chosen: s.boardChoiceWords(v, all, readBoardChoice(parseQuery(k.Query)))})
	}
	status := http.StatusOK
	if len(f.problems) > 0 {
		m.Error, status = true, http.StatusUnprocessableEntity
		m.Problems = showProblems(v.p, f.problems, func(string) string { return v.p.T("board.view.name") })
	}
	return s.render(w, r, status, view.BoardViewsPage(m))
}

// parseQuery reads a stored query; what does not parse is left out.
func parseQuery(text string) url.Values {
	q, _ := url.ParseQuery(text)
	return q
}

// boardChoiceWords says in words what a choice shows.
func (s *Server) boardChoiceWords(v *visit, all []*boardEntry, c boardChoice) []string {
	f := boardOptions(v.p, all, c)
	var out []string
	for _, o := range f.Sites {
		if o.Value == f.Site {
			out = append(out, v.p.T("board.active", logbook.Args{"What": v.p.T("board.site"), "Value": o.Label}))
		}
	}
	if c.Status != "" {
		out = append(out, v.p.T("board.active", logbook.Args{"What": v.p.T("board.status"), "Value": v.p.T(c.Status.MessageKey())}))
	}
	out = append(out, f.Active...)
	if c.Group != "" {
		out = append(out, v.p.T("board.active", logbook.Args{"What": v.p.T("board.group"), "Value": v.p.T("board.group." + c.Group)}))
	}
	return out
}

func (s *Server) boardViewSave(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	f, err := readForm(r)
	if err != nil {
		return err
	}
	c := readBoardChoice(parseQuery(f.raw("query")))
	k := store.BoardView{Name: f.text("name"), Query: c.query().Encode()}
	f.add(logbook.ValidateLabel("name", k.Name))
	if len(f.problems) == 0 {
		err := s.db.SaveBoardView(r.Context(), v.actor, k, v.now)
		var refused *logbook.Error
		switch {
		case errors.As(err, &refused) && len(refused.Problems) > 0:
			f.add(refused.Problems)
		case err != nil:
			return err
		}
	}
	if len(f.problems) > 0 {
		return s.boardViewForm(w, r, c, f)
	}
	s.setNotice(r, v.p.T("board.view.saved", logbook.Args{"Name": k.Name}))
	http.Redirect(w, r, "/board?"+k.Query, http.StatusSeeOther)
	return nil
}

func (s *Server) boardViewRemove(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	if err := s.db.RemoveBoardView(r.Context(), v.actor, logbook.ID(chi.URLParam(r, "viewID")), v.now); err != nil {
		return err
	}
	s.setNotice(r, v.p.T("board.view.removed"))
	http.Redirect(w, r, "/board/views", http.StatusSeeOther)
	return nil
}

// Package help is the page that helps a teacher from the first start on. Its texts
// are those of the README, which a test compares.
package help

import (
	"net/http"
	"strconv"

	"github.com/go-chi/chi/v5"

	"reddside/internal/i18n"
	"reddside/internal/web/req"
	"reddside/internal/web/ui"
)

// Area returns the page. Nobody needs to sign in to read it.
func Area(k *req.Kernel) req.Area {
	return req.Area{Open: req.Routes{func(r chi.Router) { r.Get("/help", k.Page(show(k))) }}}
}

// Line is one piece of help: what it is about, and what to do.
type Line struct{ Title, Text string }

// Numbers of the steps and of the questions.
const (
	steps     = 6
	questions = 6
)

// Steps lead from the file to the first saved check and the next morning.
func Steps(p *i18n.Printer) []Line { return lines(p, "help.step_", steps) }

// Questions are for when something does not work.
func Questions(p *i18n.Printer) []Line { return lines(p, "help.question_", questions) }

func lines(p *i18n.Printer, prefix string, n int) (out []Line) {
	for i := range n {
		key := prefix + strconv.Itoa(i+1)
		out = append(out, Line{p.T(key + ".title"), p.T(key + ".text")})
	}
	return out
}

// Page is the page of help.
type Page struct {
	ui.Page
	Steps, Questions []Line
}

func show(k *req.Kernel) func(http.ResponseWriter, *http.Request) error {
	return func(w http.ResponseWriter, r *http.Request) error {
		p := k.NewPage(r, "help.title", "")
		return k.Render(w, r, http.StatusOK, PageView(Page{p, Steps(p.P), Questions(p.P)}))
	}
}

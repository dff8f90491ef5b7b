package limits

import (
	"net/http"
	"strings"

	"reddside/internal/i18n"
	"reddside/internal/rules"
	"reddside/internal/web/ui"
)

// finder says which rules or limits a page shows: one family at a time, or what a
// search finds in all of them.
type finder struct {
	Base     string // address of the page
	Query    string
	Family   string // "" while something is searched for
	Families []ui.Option
}

func newFinder(r *http.Request, p *i18n.Printer, base string) finder {
	f := finder{Base: base, Query: strings.TrimSpace(r.URL.Query().Get("q"))}
	asked := r.URL.Query().Get("family")
	for _, rule := range rules.All() {
		id := string(rule.Family)
		if n := len(f.Families); n > 0 && f.Families[n-1].Value == id {
			continue
		}
		f.Families = append(f.Families, ui.Option{Value: id, Label: p.T(rule.Family.MessageKey())})
		if id == asked {
			f.Family = id
		}
	}
	switch {
	case f.Query != "":
		f.Family = ""
	case f.Family == "":
		f.Family = f.Families[0].Value
	}
	return f
}

// shows reports whether an entry of a family with these texts is to be shown.
func (f *finder) shows(family rules.Family, texts ...string) bool {
	if f.Query == "" {
		return f.Family == string(family)
	}
	all := strings.ToLower(strings.Join(texts, "\n"))
	for _, word := range strings.Fields(strings.ToLower(f.Query)) {
		if !strings.Contains(all, word) {
			return false
		}
	}
	return true
}

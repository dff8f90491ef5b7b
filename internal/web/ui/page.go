// Package view holds the pages as templ components and the view models they
// show. Nothing here computes or loads; every number arrives ready.
package ui

import (
	"reddside/internal/i18n"
	"reddside/internal/logbook"
)

// Page is what every page has: who reads it, in which language, and where it is.
type Page struct {
	P        *i18n.Printer
	Title    string   // already in the reader's language
	Assets   string   // path prefix of static files, with the content hash
	Path     string   // of this page, for the language switch
	Others   []Option // the other languages: tag, and what the language calls itself
	Role     logbook.Role
	Label    string // who is signed in
	Device   bool   // a paired tablet: there is nobody to sign out
	Invented bool   // demo data: say so
	Nav      string // which entry of the navigation is current
	Error    bool   // the page shows entry problems
	Notice   string // short confirmation, announced politely
	Version  string // of the program
	Refresh  int    // seconds until a wall display loads again; 0 never
	Styles   []string
	Scripts  []string
}

// T is short for the printer's T.
func (p Page) T(key string, args ...map[string]any) string { return p.P.T(key, args...) }

// FullTitle is the text of the title element.
func (p Page) FullTitle() string {
	t := p.Title + " – Reddside"
	if p.Error {
		t = p.T("page.error_prefix") + t
	}
	return t
}

// SignedIn reports whether somebody is signed in.
func (p Page) SignedIn() bool { return p.Role != "" }

// FieldProblem is one problem of a form, ready to show and linked to its field.
type FieldProblem struct {
	Field string // id of the field
	Label string // its label
	Text  string
	Soft  bool
	Above bool // asked, with its answer, at the top of the page
}

// Problems are the problems of a form.
type Problems []FieldProblem

// Of returns the text of the first problem of a field, or "".
func (ps Problems) Of(field string) string {
	for _, p := range ps {
		if p.Field == field {
			return p.Text
		}
	}
	return ""
}

// AskAbove moves the questions to the top of the page, when there is nothing else
// to say.
func (ps Problems) AskAbove() {
	for _, p := range ps {
		if !p.Soft {
			return
		}
	}
	for i := range ps {
		ps[i].Above = true
	}
}

// Asked reports whether the page is to ask at its top.
func (ps Problems) Asked() bool { return len(ps) > 0 && ps[0].Above }

// Soft reports whether the field only asks for a confirmation.
func (ps Problems) Soft(field string) bool {
	for _, p := range ps {
		if p.Field == field {
			return p.Soft
		}
	}
	return false
}

// Field is one input of a form with what was typed.
type Field struct {
	Name     string // of the form field and its id
	Label    string
	Hint     string
	Value    string
	Mode     string // inputmode: "decimal" or "numeric"
	Type     string // "text" when empty
	Width    string // class: "w-num", "w-date"
	Optional bool
	Complete string // autocomplete token, "off" when empty
}

func (f Field) typ() string {
	if f.Type == "" {
		return "text"
	}
	return f.Type
}

func (f Field) autocomplete() string {
	if f.Complete == "" {
		return "off"
	}
	return f.Complete
}

// Option is one answer of a choice.
type Option struct{ Value, Label string }

// ReleaseNotice says on the page of a tank that a release comes up.
type ReleaseNotice struct {
	Text    string // "" when none does
	Href    string
	Missing []string
}

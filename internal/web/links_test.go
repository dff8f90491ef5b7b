package web

import (
	"io"
	"log/slog"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"github.com/PuerkitoBio/goquery"

	"reddside/internal/logbook"
)

// linkID is the id of a row within an address.
var linkID = regexp.MustCompile(`[a-z2-7]{26}`)

// linkEach is how many addresses of one shape are opened.
const linkEach = 3

// No link of the demonstration leads nowhere: whoever follows the links of the
// first page meets no page that is missing, and no place on a page that is not there.
func TestLinksLeadSomewhere(t *testing.T) {
	db, _ := demoExport(t, testNow)
	ts := &testServer{t: t}
	ts.at(testNow)
	var err error
	ts.Server, err = New(Options{DB: db, Clock: ts.clockAt, Log: slog.New(slog.NewTextHandler(io.Discard, nil))})
	ts.must(err)
	var site logbook.ID
	sites, err := db.Sites(t.Context())
	ts.must(err)
	for _, s := range sites {
		if s.Name == "Birchlight School" {
			site = s.ID
		}
	}
	for _, a := range []logbook.Actor{{Role: logbook.Coordinator, Label: "Coordinator"},
		{Role: logbook.Keeper, SiteID: site, Label: "Keeper"}, {Role: logbook.Class, SiteID: site, Label: "Group 3"}} {
		t.Run(string(a.Role), func(t *testing.T) {
			if n := linkWalk(t, ts.as(a)); n < 20 {
				t.Errorf("only %d pages were reached", n)
			}
		})
	}
}

// linkWalk opens what can be reached from the first page, and counts it.
func linkWalk(t *testing.T, b *browser) int {
	opened, shapes := map[string]*goquery.Document{}, map[string]int{}
	type step struct{ path, from string }
	next := []step{{"/", "the start"}}
	for len(next) > 0 {
		at := next[0]
		next = next[1:]
		u, err := url.Parse(at.path)
		if err != nil {
			t.Errorf("%s links to %q: %v", at.from, at.path, err)
			continue
		}
		key := u.RequestURI()
		doc, known := opened[key]
		if !known {
			shape := linkID.ReplaceAllString(key, "*")
			if shapes[shape]++; shapes[shape] > linkEach {
				continue
			}
			p := b.get(key)
			if p.Location != "" && p.Status == 303 {
				next = append(next, step{p.Location, at.from})
				opened[key] = nil
				continue
			}
			if p.Status != 200 {
				t.Errorf("%s links to %s: status %d", at.from, at.path, p.Status)
			}
			if strings.HasPrefix(p.Header.Get("Content-Type"), "text/html") {
				if doc, err = goquery.NewDocumentFromReader(strings.NewReader(p.Body)); err != nil {
					t.Fatal(err)
				}
			}
			if opened[key] = doc; doc != nil {
				doc.Find("a[href]").Each(func(_ int, s *goquery.Selection) {
					if href := s.AttrOr("href", ""); strings.HasPrefix(href, "/") {
						next = append(next, step{href, key})
					} else if strings.HasPrefix(href, "#") {
						next = append(next, step{key + href, key})
					}
				})
			}
		}
		if u.Fragment != "" && doc != nil && doc.Find(`[id="`+u.Fragment+`"]`).Length() == 0 {
			t.Errorf("%s links to %s: there is no such place on that page", at.from, at.path)
		}
	}
	return len(opened)
}

package web

import (
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"github.com/PuerkitoBio/goquery"

	"reddside/internal/logbook"
	"reddside/internal/web/req"
)

// unframed says which of the protections of an answer is missing, "" for none:
// the headers of every answer, and no code or style inside a page (OWASP CSP cheat
// sheet, read).
func unframed(p page) string {
	h := p.Header
	for name, want := range map[string]string{
		"Content-Security-Policy": req.ContentSecurity, "X-Content-Type-Options": "nosniff",
		"Referrer-Policy": "same-origin", "Cross-Origin-Resource-Policy": "same-origin",
	} {
		if h.Get(name) != want {
			return name + " is " + h.Get(name)
		}
	}
	for _, name := range []string{"Server", "X-Powered-By", "Access-Control-Allow-Origin"} {
		if h.Get(name) != "" {
			return name + " tells " + h.Get(name)
		}
	}
	if !strings.HasPrefix(h.Get("Content-Type"), "text/html") || p.Status >= 300 && p.Status < 400 {
		return ""
	}
	if !strings.Contains(h.Get("Cache-Control"), "no-store") {
		return "a page may be kept by the browser: Cache-Control " + h.Get("Cache-Control")
	}
	return inlineCode(p.Body)
}

// inlineCode finds code or style inside a page.
func inlineCode(body string) string {
	doc, err := goquery.NewDocumentFromReader(strings.NewReader(body))
	if err != nil {
		return err.Error()
	}
	found := ""
	doc.Find("*").Each(func(_ int, n *goquery.Selection) {
		name := goquery.NodeName(n)
		_, src := n.Attr("src")
		switch {
		case name == "style":
			found = "a style element"
		case name == "script" && !src && n.AttrOr("type", "") != "application/json":
			found = "code inside the page"
		}
		for _, a := range n.Nodes[0].Attr {
			if a.Key == "style" || strings.HasPrefix(a.Key, "on") {
				found = name + " has " + a.Key
			}
			if (a.Key == "href" || a.Key == "action") && strings.HasPrefix(strings.ToLower(strings.TrimSpace(a.Val)),
				"javascript:") {
				found = name + " leads to code"
			}
		}
	})
	return found
}

// Every route answers everybody with the protecting headers, also when it refuses
// or fails, and no page holds code.
func TestHeadersOfEveryRoute(t *testing.T) {
	tab := roleTable{newFullServer(t), map[string]access{}, map[string]string{}}
	pages := 0
	walkRoutes(t, tab.Server, func(method, path string) {
		if strings.HasPrefix(path, "/static/") {
			return
		}
		p := tab.ask(t, method, path, tab.coordinator)
		if strings.HasPrefix(p.Header.Get("Content-Type"), "text/html") {
			pages++
		}
		if msg := unframed(p); msg != "" {
			t.Errorf("%s %s: %s", method, path, msg)
		}
	})
	if pages < 60 {
		t.Errorf("only %d pages looked at", pages)
	}
	none := tab.as(noActor)
	for _, path := range []string{"/nowhere", "/board", "/api/v1/nowhere", "/static/nowhere.css"} {
		if msg := unframed(none.get(path)); msg != "" {
			t.Errorf("%s without sign-in: %s", path, msg)
		}
	}
	for _, bad := range []string{`<p onclick="x()">`, `<script>x()</script>`, `<style>p{}</style>`,
		`<p style="color:red">`, `<a href=" JavaScript:x()">`} {
		if inlineCode(bad) == "" {
			t.Errorf("%s was not found", bad)
		}
	}
	if inlineCode(`<script src="/a.js"></script><script type="application/json">{}</script>`) != "" {
		t.Error("a script of our own was found")
	}
}

// TestPartOfFileIsPlain: the place of a part is counted in the file as it is
// stored (RFC 9110, 14.4), so it must not be the compressed form of that part.
func TestPartOfFileIsPlain(t *testing.T) {
	ts := newTestServer(t)
	get := func(span string) page {
		r := httptest.NewRequest("GET", ts.Assets.Prefix+"base.css", nil)
		r.Header.Set("Accept-Encoding", "gzip")
		if span != "" {
			r.Header.Set("Range", span)
		}
		return ts.as(logbook.Actor{}).do(r)
	}
	if whole := get("").want(t, http.StatusOK); whole.Header.Get("Content-Encoding") != "gzip" {
		t.Error("the whole file is not compressed")
	}
	part := get("bytes=0-99")
	part.want(t, http.StatusPartialContent)
	if enc := part.Header.Get("Content-Encoding"); enc != "" || len(part.Body) != 100 {
		t.Errorf("a part of 100 bytes came as %d, encoding %q", len(part.Body), enc)
	}
}

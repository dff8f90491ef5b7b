package browser

import (
	"context"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"reddside/internal/web"
)

// classPages are the pages for a class, as a class sees them.
func classPages(s *site) []place {
	room3 := s.season("Room 3", true)
	return []place{
		{name: "class hub", path: seasonPath(room3, "/class")},
		{name: "class stage", path: seasonPath(room3, "/class/stage?pick=alevin")},
		{name: "class units", path: seasonPath(room3, "/class/units")},
		{name: "class tanks", path: seasonPath(room3, "/class/tanks")},
		{name: "class questions", path: seasonPath(room3, "/class/questions")},
		{name: "class worksheet", path: seasonPath(room3, "/class/worksheet")},
		{name: "wall", path: "/sites/" + string(room3.Site.ID) + "/wall"},
	}
}

// TestClassPages looks at the pages for a class in light and dark.
func TestClassPages(t *testing.T) {
	t.Parallel()
	s := demoSite(t)
	b := newTab(t, s.base).as("class")
	for _, scheme := range []string{"light", "dark"} {
		b.media(scheme, scheme == "dark")
		for _, p := range classPages(s) {
			b.visit(p)
			b.axe(p.name + " (" + scheme + ")")
			b.named(p.name)
			b.targets(p.name, 44)
			if scheme == "dark" {
				b.still(p.name)
			}
			b.narrow(p.name)
		}
	}
	// The answers of the sheet begin on a page of their own.
	room3 := s.season("Room 3", true)
	b.open(seasonPath(room3, "/class/worksheet"))
	pdf, err := chromedp.Run(b.ctx, chromedp.PrintToPDF(chromedp.PDFPaper(chromedp.PaperLetter)))
	if err != nil {
		t.Fatal(err)
	}
	b.wantPrinted("worksheet", pdf, "Answers")
}

// TestWallIsReadFromAfar: everything fits one screen, and no word is smaller than
// 1.3 % of the width of the screen: 13 mm of 1 m, for letters that are read from
// four metres (common practice, no source).
func TestWallIsReadFromAfar(t *testing.T) {
	t.Parallel()
	s := demoSite(t)
	b := newTab(t, s.base).as("class")
	wall := "/sites/" + string(s.season("Room 3", true).Site.ID) + "/wall"
	for _, size := range [][2]int64{{1280, 800}, {1920, 1080}} {
		b.size(size[0], size[1])
		b.open(wall)
		r := eval[struct {
			Bottom, Least float64
			Small         string
			Over          []string
		}](b, `(function () {
			var out = {Bottom: document.getElementById("main").getBoundingClientRect().bottom, Least: 1e9, Small: "", Over: []};
			document.querySelectorAll("main *").forEach(function (x) {
				var own = Array.prototype.some.call(x.childNodes, function (n) { return n.nodeType === 3 && n.textContent.trim(); });
				if (!own || x.closest("title, caption, thead")) { return; }
				var size = parseFloat(getComputedStyle(x).fontSize), svg = x.closest("svg");
				if (svg) { size *= svg.getScreenCTM().a; }
				if (size < out.Least) { out.Least = size; out.Small = x.textContent.trim(); }
				var r = x.getBoundingClientRect(), tile = x.closest(".wall-tank");
				if (tile && (r.right > tile.getBoundingClientRect().right + 1 || r.bottom > tile.getBoundingClientRect().bottom + 1)) { out.Over.push(x.textContent.trim()); }
			});
			return out;
		})()`)
		if r.Bottom > float64(size[1])+1 {
			t.Errorf("%v: the wall ends at %.0f", size, r.Bottom)
		}
		if r.Least < 0.013*float64(size[0]) {
			t.Errorf("%v: %q has %.1f px", size, r.Small, r.Least)
		}
		for _, x := range r.Over {
			t.Errorf("%v: %q stands out of its tile", size, x)
		}
	}
}

// TestWallOutlivesTheServer: the display keeps its figures while the server is
// away, says since when, and is fresh again after it came back.
func TestWallOutlivesTheServer(t *testing.T) {
	t.Parallel()
	from, err := demoFolder()
	if err != nil {
		t.Fatal(err)
	}
	dir := filepath.Join(t.TempDir(), "data")
	if err := os.CopyFS(dir, os.DirFS(from)); err != nil {
		t.Fatal(err)
	}
	s := serve(t, dir, true)
	// A second door to the same program, which can be shut and opened again.
	handler, err := web.New(s.opts)
	if err != nil {
		t.Fatal(err)
	}
	fast := http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) { handler.ServeHTTP(w, r) })
	ln, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	addr := ln.Addr().String()
	door := &http.Server{Handler: fast, ReadHeaderTimeout: 10 * time.Second}
	go func() { _ = door.Serve(ln) }()
	b := newTab(t, "http://"+addr).as("class")
	b.open("/sites/" + string(s.season("Room 3", true).Site.ID) + "/wall")
	b.says("Last seen 09:00", "Room 3")
	// The display asks every two seconds, so that the test is short.
	eval[bool](b, `(document.getElementById("main").setAttribute("data-every", "2"), true)`)
	wake := `(document.dispatchEvent(new Event("visibilitychange")), true)`
	b.mu.Lock()
	b.offline = true // what Chromium logs of the closed door is meant to be
	b.mu.Unlock()
	_ = door.Close()
	eval[bool](b, wake)
	if !b.waits(`!document.getElementById("wall-away").hidden`) {
		t.Fatal("the display does not say that the server is away")
	}
	if said := eval[string](b, `document.getElementById("wall-away").innerText.trim()`); said != "No news since 09:00." {
		t.Errorf("it says %q", said)
	}
	b.says("Last seen 09:00", "Room 3")
	s.now.Add(11 * 60)
	if ln, err = (&net.ListenConfig{}).Listen(context.Background(), "tcp", addr); err != nil {
		t.Fatal(err)
	}
	again := &http.Server{Handler: fast, ReadHeaderTimeout: 10 * time.Second}
	go func() { _ = again.Serve(ln) }()
	t.Cleanup(func() { _ = again.Close() })
	if !b.waits(`document.getElementById("wall-away").hidden && document.getElementById("main").getAttribute("data-seen") === "09:11"`) {
		t.Fatal("the display is not fresh after the server came back: " + b.text())
	}
	b.says("Last seen 09:11")
	b.forgetSession()
	eval[bool](b, wake)
	if !b.waits(`!document.getElementById("wall-out").hidden`) {
		t.Error("the display does not say that somebody needs to sign in")
	}
}

// waits looks for something on the page for up to 20 seconds.
func (b *tab) waits(condition string) bool {
	b.t.Helper()
	return eval[bool](b, `new Promise(function (done) {
		var end = Date.now() + 20000;
		(function look() {
			if (`+condition+`) { done(true); return; }
			if (Date.now() > end) { done(false); return; }
			setTimeout(look, 100);
		})();
	})`)
}

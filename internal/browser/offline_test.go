package browser

import (
	"context"
	"io"
	"net"
	"net/http"
	"strings"
	"sync"
	"testing"
	"time"

	"reddside/internal/logbook"
)

// The server is killed while somebody types, and comes back later.
func TestServerKilledWhileTyping(t *testing.T) {
	t.Parallel()
	c := startChild(t)
	b := c.onLan(t, c.addr)
	b.typeCheck("5.3")
	c.kill()
	b.press(saveButton)
	b.untilWaiting()
	if !eval[bool](b, `document.querySelector("form.check-form").hidden`) {
		t.Error("the form can be filled in a second time")
	}
	c.start()
	b.untilStored()
	b.says("5.3\u00a0°C", "The eggs lie still.")
	c.wantOneCheck(5.3)
}

// gate stands between the tablet and the server and cuts the line as the test
// wants it.
type gate struct {
	mu   sync.Mutex
	down bool
	// cut runs when a check is sent: the line is dead after it.
	cut func(forward func())
	to  string
	// answered is the status of what the server said to a swallowed entry.
	answered int
}

func (g *gate) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	g.mu.Lock()
	down, cut := g.down, g.cut
	if r.Method == "POST" && strings.HasSuffix(r.URL.Path, "/checks") && cut != nil {
		g.cut, g.down, down = nil, true, true
	} else {
		cut = nil
	}
	g.mu.Unlock()
	forward := func() *http.Response {
		out := r.Clone(context.Background())
		out.RequestURI, out.URL.Scheme, out.URL.Host = "", "http", g.to
		resp, err := http.DefaultTransport.RoundTrip(out)
		if err != nil {
			return nil
		}
		return resp
	}
	if cut != nil {
		cut(func() {
			if resp := forward(); resp != nil {
				_, _ = io.Copy(io.Discard, resp.Body)
				_ = resp.Body.Close()
				g.mu.Lock()
				g.answered = resp.StatusCode
				g.mu.Unlock()
			}
		})
	}
	if !down {
		if resp := forward(); resp != nil {
			defer func() { _ = resp.Body.Close() }()
			for k, v := range resp.Header {
				w.Header()[k] = v
			}
			w.WriteHeader(resp.StatusCode)
			_, _ = io.Copy(w, resp.Body)
			return
		}
	}
	if conn, _, err := w.(http.Hijacker).Hijack(); err == nil {
		_ = conn.Close()
	}
}

func (g *gate) open() {
	g.mu.Lock()
	g.down = false
	g.mu.Unlock()
}

func newGate(t *testing.T, to string, cut func(forward func())) (*gate, string) {
	t.Helper()
	g := &gate{to: to, cut: cut}
	ln, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	hs := &http.Server{Handler: g, ReadHeaderTimeout: 10 * time.Second}
	go func() { _ = hs.Serve(ln) }()
	t.Cleanup(func() { _ = hs.Close() })
	return g, ln.Addr().String()
}

// The server is killed while the entry is on its way to it.
func TestServerKilledWhileSending(t *testing.T) {
	t.Parallel()
	c := startChild(t)
	g, addr := newGate(t, c.addr, func(func()) { c.kill() })
	b := c.onLan(t, addr)
	b.typeCheck("5.4")
	b.press(saveButton)
	b.untilWaiting()
	c.start()
	g.open()
	b.untilStored()
	c.wantOneCheck(5.4)
}

// The server has stored the entry and is killed before it can say so. The page is
// closed meanwhile; the entry is sent again from the start page, and stored once.
func TestServerKilledBeforeAnswering(t *testing.T) {
	t.Parallel()
	c := startChild(t)
	g, addr := newGate(t, c.addr, func(forward func()) { forward(); c.kill() })
	b := c.onLan(t, addr)
	b.typeCheck("5.5")
	b.press(saveButton)
	b.untilWaiting()
	g.mu.Lock()
	if g.answered != http.StatusCreated {
		t.Errorf("the server answered %d before it was killed: the test shows nothing", g.answered)
	}
	g.mu.Unlock()
	c.start()
	g.open()
	b.open("/today")
	b.until("the entry to be sent", `document.querySelectorAll("[data-waiting-done] a").length === 1`)
	if n := eval[int](b, `Object.keys(localStorage).filter(function (k) { return k.indexOf("reddside.") === 0; }).length`); n != 0 {
		t.Errorf("%d things are left in the storage of the tablet", n)
	}
	b.click("[data-waiting-done] a")
	b.says("5.5\u00a0°C", "The eggs lie still.")
	c.wantOneCheck(5.5)
}

// A person can open what waits, change it and send it, or throw it away.
func TestWaitingEntryIsOpenedAndThrownAway(t *testing.T) {
	t.Parallel()
	c := startChild(t)
	b := c.onLan(t, c.addr)
	b.typeCheck("5.6")
	c.kill()
	b.press(saveButton)
	b.untilWaiting()
	b.press("[data-waiting-open]")
	if v := b.value("temperature") + b.value("chiller") + b.value("note"); v != "5.6runningThe eggs lie still." {
		t.Errorf("opened, the form holds %q", v)
	}
	b.fill("temperature", "5.7")
	b.press(saveButton)
	b.untilWaiting()
	if s := eval[string](b, `document.querySelector("[data-waiting-what]").textContent`); !strings.Contains(s, "5.7") ||
		strings.Contains(s, "5.6") {
		t.Errorf("what waits is %q", s)
	}
	b.press("[data-waiting-discard]")
	b.seen("[data-waiting-list] li") // not before it was asked
	c.start()
	b.untilStored()
	c.wantOneCheck(5.7)
}

// Another tablet has entered the check in the meantime: nothing is overwritten, a
// person sees both and decides.
func TestWaitingEntryMeetsAnother(t *testing.T) {
	t.Parallel()
	c := startChild(t)
	b := c.onLan(t, c.addr)
	b.typeCheck("5.8")
	c.kill()
	b.press(saveButton)
	b.untilWaiting()
	b.open2("about:blank")
	c.start()
	other := newTab(t, "http://"+strings.Replace(c.addr, "127.0.0.1", lanName, 1)).as("class")
	other.open(seasonPath(c.room, "/checks/new"))
	other.fill("temperature", "6.1")
	other.click(saveButton)
	other.wantStored()
	b.mu.Lock()
	b.expected = 409 // the script is told, too
	b.mu.Unlock()
	b.do(navigate(b.base + "/today"))
	b.until("the question", `document.querySelector("[data-waiting]").innerText.indexOf("has a question") > 0`)
	b.clickFor(409, "[data-waiting-send]")
	b.says("5.8", "6.1")
	if kept := eval[int](b, pendingEntries); kept != 1 {
		t.Errorf("%d entries are kept while a person decides, want 1", kept)
	}
	// The person leaves without an answer: the entry is listed again.
	b.open("/today")
	b.until("the question again", `document.querySelector("[data-waiting]").innerText.indexOf("has a question") > 0`)
	b.mu.Lock()
	b.expected = 409
	b.mu.Unlock()
	b.clickFor(409, "[data-waiting-send]")
	b.click(".actions a.button")
	b.says("6.1")
	if kept := eval[int](b, pendingEntries); kept != 0 {
		t.Errorf("%d entries are kept after the decision", kept)
	}
	c.wantOneCheck(6.1)
}

const pendingEntries = `Object.keys(localStorage).filter(function (k) { return k.indexOf("reddside.waiting.") === 0; }).length`

// The server has a question about what a child typed, and dies before its page
// comes: the entry is kept, and stored once when the question is answered.
func TestServerKilledWhileAsking(t *testing.T) {
	t.Parallel()
	c := startChild(t)
	b := c.onLan(t, c.addr)
	b.typeCheck("25") // far from yesterday: it is asked about
	// The script is told of the question; then the server is gone.
	eval[bool](b, `(function () {
		var real = window.fetch;
		window.fetch = function (to, how) {
			if (!how || how.method !== "POST") { return real(to, how); }
			return Promise.resolve(new Response("", { status: 422 }));
		};
		return true;
	})()`)
	c.kill()
	b.press(saveButton)
	b.until("the page that the browser shows instead", `!document.querySelector("[data-waiting]")`)
	c.start()
	b.do(navigate(b.base + "/today"))
	b.until("the question", `document.querySelector("[data-waiting]").innerText.indexOf("has a question") > 0`)
	b.clickFor(422, "[data-waiting-send]")
	if kept := eval[int](b, pendingEntries); kept != 1 {
		t.Errorf("%d entries are kept while the form asks, want 1", kept)
	}
	b.fill("temperature", "5.4")
	b.press(saveButton)
	b.untilStored()
	c.wantOneCheck(5.4)
}

// What was done to a tank waits like a check, and is stored once.
func TestEventWaits(t *testing.T) {
	t.Parallel()
	c := startChild(t)
	b := newTab(t, "http://"+strings.Replace(c.addr, "127.0.0.1", lanName, 1)).as("keeper")
	b.open(seasonPath(c.room, "/events/new?kind=water_change"))
	b.mu.Lock()
	b.offline = true
	b.mu.Unlock()
	b.fill("litres", "20")
	c.kill()
	b.press("form.event-form button.save")
	b.until("the entry in the list", `document.querySelectorAll("[data-waiting-list] li").length === 1`)
	c.start()
	b.until("the page of the stored event", `location.pathname.indexOf("/events/") === 0`)
	c.kill()
	c.withStore(func(s *site) {
		n := 0
		for _, x := range s.season("Room 3", true).Events {
			if x.Kind == logbook.WaterChange && x.On.String() == "2026-02-10" {
				n++
			}
		}
		if n != 1 {
			t.Errorf("%d water changes of the day are stored, want exactly 1", n)
		}
	})
}

// open2 goes to a page without looking at its status.
func (b *tab) open2(url string) { b.t.Helper(); b.do(navigate(url)) }

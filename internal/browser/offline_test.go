package browser

import (
	"context"
	"io"
	"log/slog"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/page"

	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/web"
)

// The tests of a lost connection run this test program again as a server of its
// own, to kill it as a power cut does.
const (
	childEnv    = "REDDSIDE_BROWSER_CHILD"
	childDirEnv = "REDDSIDE_BROWSER_DIR"
)

// serveAsChild serves the demonstration in dir at addr until it is killed.
func serveAsChild(addr, dir string) error {
	db, err := store.Open(context.Background(), dir, store.Options{Now: testNow})
	if err != nil {
		return err
	}
	handler, err := web.New(web.Options{DB: db, Clock: func() time.Time { return testNow }, Log: slog.New(slog.DiscardHandler), Hosts: []string{lanName}, Demo: true})
	if err != nil {
		return err
	}
	return http.ListenAndServe(addr, handler)
}

// child is a server that can be killed and started again over the same logbook.
type child struct {
	t    *testing.T
	dir  string
	addr string
	room *logbook.Season // Room 3, which has no check today
	cmd  *exec.Cmd
}

func startChild(t *testing.T) *child {
	t.Helper()
	browserFor(t) // skip before any work
	from, err := demoFolder()
	if err != nil {
		t.Fatal("fill the demonstration:", err)
	}
	c := &child{t: t, dir: filepath.Join(t.TempDir(), "data")}
	if err := os.CopyFS(c.dir, os.DirFS(from)); err != nil {
		t.Fatal(err)
	}
	c.withStore(func(s *site) { c.room = s.season("Room 3", true) })
	ln, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	c.addr = ln.Addr().String()
	_ = ln.Close()
	t.Cleanup(c.kill)
	c.start()
	return c
}

// withStore opens the logbook while no child has it.
func (c *child) withStore(use func(*site)) {
	c.t.Helper()
	db, err := store.Open(context.Background(), c.dir, store.Options{Now: testNow})
	if err != nil {
		c.t.Fatal(err)
	}
	defer func() { _ = db.Close() }()
	use(&site{t: c.t, db: db})
}

func (c *child) start() {
	c.t.Helper()
	exe, err := os.Executable()
	if err != nil {
		c.t.Fatal(err)
	}
	c.cmd = exec.Command(exe)
	c.cmd.Env = append(os.Environ(), childEnv+"="+c.addr, childDirEnv+"="+c.dir)
	c.cmd.Stderr = os.Stderr
	if err := c.cmd.Start(); err != nil {
		c.t.Fatal(err)
	}
	for range 600 {
		if resp, err := http.Get("http://" + c.addr + "/healthz"); err == nil {
			_ = resp.Body.Close()
			return
		}
		time.Sleep(50 * time.Millisecond)
	}
	c.t.Fatal("the server does not start")
}

// kill ends the server at once, as a power cut does.
func (c *child) kill() {
	if c.cmd != nil {
		_ = c.cmd.Process.Kill()
		_ = c.cmd.Wait()
		c.cmd = nil
	}
}

// wantOneCheck kills the server and looks into its logbook.
func (c *child) wantOneCheck(temperature float64) {
	c.t.Helper()
	c.kill()
	c.withStore(func(s *site) {
		n := 0
		for _, x := range s.season("Room 3", true).Checks {
			if x.On.String() != "2026-02-10" {
				continue
			}
			n++
			if got, ok := x.Temperature.Get(); !ok || float64(got) != temperature || x.By != logbook.Class {
				c.t.Errorf("stored %+v", x)
			}
		}
		if n != 1 {
			c.t.Errorf("%d checks of the day are stored, want exactly 1", n)
		}
	})
}

// onLan opens the form of Room 3 under a name that the browser does not trust, as
// on a school network without https.
func (c *child) onLan(t *testing.T, addr string) *tab {
	t.Helper()
	b := newTab(t, "http://"+strings.Replace(addr, "127.0.0.1", lanName, 1)).as("class")
	if eval[bool](b, `window.isSecureContext`) {
		t.Error("the browser trusts this address: the test does not show a network without https")
	}
	b.open(seasonPath(c.room, "/checks/new"))
	b.mu.Lock()
	b.offline = true
	b.mu.Unlock()
	return b
}

// until waits for an expression to be true.
func (b *tab) until(what, expression string) {
	b.t.Helper()
	for end := time.Now().Add(patience); time.Now().Before(end); time.Sleep(100 * time.Millisecond) {
		if eval[bool](b, expression) {
			return
		}
	}
	b.t.Fatalf("waited in vain for %s at %s: %s", what, b.where(), eval[string](b, `document.body.innerText`))
}

func (b *tab) untilWaiting() {
	b.t.Helper()
	b.until("the entry in the list", `!document.querySelector("[data-waiting]").hidden && document.querySelectorAll("[data-waiting-list] li").length === 1`)
	shown := eval[string](b, `document.querySelector("[data-waiting]").innerText`)
	for _, want := range []string{"1 entry is waiting on this tablet", "Room 3", "10", "Water temperature", "The eggs lie still."} {
		if !strings.Contains(shown, want) {
			b.t.Errorf("the list of what waits has no %q: %s", want, shown)
		}
	}
}

func (b *tab) untilStored() {
	b.t.Helper()
	b.until("the page of the stored check", `location.pathname.indexOf("/checks/") === 0 && document.querySelectorAll("[data-stored]").length === 1`)
	if n := eval[int](b, `Object.keys(localStorage).filter(function (k) { return k.indexOf("reddside.") === 0; }).length`); n != 0 {
		b.t.Errorf("%d things are left in the storage of the tablet", n)
	}
}

func (b *tab) typeCheck(temperature string) {
	b.t.Helper()
	b.fill("temperature", temperature)
	b.choose("chiller", "running")
	b.fill("dead_eggs", "0")
	b.choose("water", "clear")
	b.fill("note", "The eggs lie still.")
}

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
	if s := eval[string](b, `document.querySelector("[data-waiting-what]").textContent`); !strings.Contains(s, "5.7") || strings.Contains(s, "5.6") {
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
	c.wantOneCheck(6.1)
}

// open2 goes to a page without looking at its status.
func (b *tab) open2(url string) { b.t.Helper(); b.do(navigate(url)) }

// blockStorage is run before any script of a page.
const blockStorage = `Object.defineProperty(window, "localStorage", { get: function () { throw new DOMException("blocked", "SecurityError"); } });`

// fullStorage fills the storage to the last character.
const fullStorage = `(function () {
	var size = 1 << 20, n = 0;
	while (size > 0) {
		try { localStorage.setItem("filler" + n, new Array(size + 1).join("x")); n++; } catch (e) { size = size >> 1; }
	}
})();`

func TestStorageBlockedOrFull(t *testing.T) {
	t.Parallel()
	for name, script := range map[string]string{"blocked": blockStorage, "full": fullStorage} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			c := startChild(t)
			b := newTab(t, "http://"+strings.Replace(c.addr, "127.0.0.1", lanName, 1))
			must(b, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: `if (location.protocol === "http:") { ` + script + ` }`})
			b.as("class")
			b.open(seasonPath(c.room, "/checks/new"))
			b.mu.Lock()
			b.offline = true
			b.mu.Unlock()
			if eval[bool](b, `document.querySelector("[data-draft-off]").hidden`) {
				t.Error("nothing says that no draft is kept")
			}
			b.typeCheck("5.9")
			c.kill()
			b.press(saveButton)
			b.untilWaiting()
			if s := eval[string](b, `document.querySelector("[data-waiting-state]").textContent`); !strings.Contains(s, "cannot keep the entry") {
				t.Errorf("the list says %q", s)
			}
			if v := b.value("temperature"); v != "5.9" || eval[bool](b, `document.querySelector("form.check-form").hidden`) {
				t.Errorf("the form does not hold what was typed: %q", v)
			}
			c.start()
			b.until("the check to be stored", `document.querySelectorAll("[data-waiting-done] a").length === 1 || location.pathname.indexOf("/checks/") === 0`)
			c.wantOneCheck(5.9)
		})
	}
}

// Without a script the form is a plain form: sent, stored, shown.
func TestCheckWithoutScriptOnANetwork(t *testing.T) {
	t.Parallel()
	s := demoSite(t)
	b := newTab(t, s.lan()).as("class")
	b.withoutScript()
	b.open(seasonPath(s.season("Room 3", true), "/checks/new"))
	b.fill("temperature", "6.2")
	b.click(saveButton)
	b.wantStored()
}

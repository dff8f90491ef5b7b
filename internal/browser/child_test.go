package browser

import (
	"context"
	"log/slog"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

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
	handler, err := web.New(web.Options{DB: db, Clock: func() time.Time { return testNow },
		Log: slog.New(slog.DiscardHandler), Hosts: []string{lanName}, Demo: true})
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

// until waits for an expression to be true, over page changes too: while one page
// goes and the next comes, nothing can be asked.
func (b *tab) until(what, expression string) {
	b.t.Helper()
	ctx, cancel := context.WithTimeout(b.ctx, patience)
	defer cancel()
	for ; ctx.Err() == nil; time.Sleep(100 * time.Millisecond) {
		if is, err := chromedp.Run(ctx, chromedp.Evaluate[bool](expression)); err == nil && is {
			return
		}
	}
	b.t.Fatalf("waited in vain for %s at %s: %s", what, b.where(), eval[string](b, `document.body.innerText`))
}

func (b *tab) untilWaiting() {
	b.t.Helper()
	b.until("the entry in the list", `!document.querySelector("[data-waiting]").hidden && document.querySelectorAll("[data-waiting-list] li").length === 1`)
	shown := eval[string](b, `document.querySelector("[data-waiting]").innerText`)
	for _, want := range []string{"1 entry is waiting on this device", "Room 3", "10", "Water temperature",
		"The eggs lie still."} {
		if !strings.Contains(shown, want) {
			b.t.Errorf("the list of what waits has no %q: %s", want, shown)
		}
	}
}

func (b *tab) untilStored() {
	b.t.Helper()
	b.until("the page of the stored check",
		`location.pathname.indexOf("/checks/") === 0 && document.querySelectorAll("[data-stored]").length === 1`)
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

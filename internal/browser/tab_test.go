package browser

import (
	"context"
	"encoding/json"
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/audits"
	"github.com/chromedp/cdproto/cdp"
	cdplog "github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
)

// patience is how long one step may take on a slow machine.
const patience = 90 * time.Second

// tab is one window with cookies and storage of its own. It collects whatever
// the browser complains about; at the end of the test there must be nothing.
type tab struct {
	t    *testing.T
	ctx  context.Context
	base string
	host string

	mu         sync.Mutex
	complaints []string
	expected   int  // status of the document that is awaited, for its log entry
	calls      int  // requests seen
	offline    bool // the server may be away: failed requests are no complaint
}

// watchPolicy reports violations of the content policy as errors on the console.
const watchPolicy = `window.addEventListener("securitypolicyviolation", function (e) {
	console.error("content policy: " + e.effectiveDirective + " " + e.blockedURI + " " + e.sourceFile + ":" + e.lineNumber);
});`

// newTab opens a window on the server at base.
func newTab(t *testing.T, base string) *tab {
	t.Helper()
	parent := browserFor(t)
	u, err := url.Parse(base)
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := chromedp.NewContext(parent, chromedp.WithNewBrowserContext())
	b := &tab{t: t, ctx: ctx, base: base, host: u.Host}
	t.Cleanup(func() {
		b.finish()
		cancel()
	})
	if err := chromedp.Do(ctx); err != nil {
		t.Fatal("open a tab:", err)
	}
	if err := chromedp.Listen(ctx, b.hear); err != nil {
		t.Fatal(err)
	}
	must(b, audits.Enable, cdp.Empty{})
	must(b, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: watchPolicy})
	b.size(1280, 800)
	b.do(chromedp.Navigate("about:blank"))
	return b
}

// must runs a protocol command.
func must[P, R any](b *tab, cmd cdp.Command[P, R], params P) R {
	b.t.Helper()
	ctx, cancel := context.WithTimeout(b.ctx, patience)
	defer cancel()
	r, err := chromedp.Call(ctx, cmd, params)
	if err != nil {
		b.t.Fatal(err)
	}
	return r
}

// hear collects complaints. It runs on the goroutine that reads events.
func (b *tab) hear(ev any) {
	b.mu.Lock()
	defer b.mu.Unlock()
	switch e := ev.(type) {
	case *runtime.EventExceptionThrown:
		b.complaints = append(b.complaints,
			"uncaught: "+(&chromedp.ExceptionError{ExceptionDetails: e.ExceptionDetails}).Error())
	case *runtime.EventConsoleAPICalled:
		if e.Type == "error" || e.Type == "warning" || e.Type == "assert" {
			b.complaints = append(b.complaints, "console "+string(e.Type)+": "+consoleText(e.Args))
		}
	case *cdplog.EventEntryAdded:
		if e.Entry.Level != "error" && e.Entry.Level != "warning" {
			return
		}
		// Chromium logs the status of a page that came back with questions.
		if b.expected != 200 && e.Entry.Source == "network" &&
			strings.Contains(e.Entry.Text, "status of "+expectedStatus(b.expected)) {
			return
		}
		if b.offline && strings.Contains(e.Entry.Text, "net::ERR_") {
			return
		}
		b.complaints = append(b.complaints, fmt.Sprintf("log %s: %s %s", e.Entry.Level, e.Entry.Text, e.Entry.URL))
	case *audits.EventIssueAdded:
		if e.Issue.Details != nil && e.Issue.Details.ContentSecurityPolicyIssueDetails != nil {
			d, _ := json.Marshal(e.Issue.Details.ContentSecurityPolicyIssueDetails)
			b.complaints = append(b.complaints, "content policy issue: "+string(d))
		}
	case *network.EventRequestWillBeSent:
		b.calls++
		u, err := url.Parse(e.Request.URL)
		if err != nil || (u.Scheme != "data" && u.Scheme != "blob" && u.Scheme != "about" && u.Host != b.host) {
			b.complaints = append(b.complaints, "request leaves the host: "+e.Request.URL)
		}
	}
}

func expectedStatus(n int) string {
	if n == 0 {
		return "4"
	}
	return strconv.Itoa(n) + " "
}

func consoleText(args []*runtime.RemoteObject) string {
	var out []string
	for _, a := range args {
		out = append(out, string(a.Value)+a.Description)
	}
	return strings.Join(out, " ")
}

// finish keeps a picture when the test failed, and fails it for complaints.
func (b *tab) finish() {
	b.mu.Lock()
	for _, c := range slices.Compact(slices.Clone(b.complaints)) {
		b.t.Error(c)
	}
	if b.calls == 0 {
		b.t.Error("no request was seen: the tab does not listen")
	}
	b.mu.Unlock()
	if !b.t.Failed() {
		return
	}
	ctx, cancel := context.WithTimeout(b.ctx, 10*time.Second)
	defer cancel()
	png, err := chromedp.Run(ctx, chromedp.FullScreenshot(100))
	if err != nil {
		b.t.Log("no picture:", err)
		return
	}
	name := filepath.Join(b.t.ArtifactDir(), "failed.png")
	if err := os.WriteFile(name, png, 0o600); err != nil {
		b.t.Log("no picture:", err)
		return
	}
	b.t.Log("picture:", name)
}

// do runs actions with a time limit.
func (b *tab) do(steps ...chromedp.Action[chromedp.Void]) {
	b.t.Helper()
	ctx, cancel := context.WithTimeout(b.ctx, patience)
	defer cancel()
	if err := chromedp.Do(ctx, steps...); err != nil {
		b.t.Fatalf("%v\nat %s", err, b.where())
	}
}

// eval evaluates an expression that gives a T.
func eval[T any](b *tab, expression string) T {
	b.t.Helper()
	ctx, cancel := context.WithTimeout(b.ctx, patience)
	defer cancel()
	v, err := chromedp.Run(ctx, chromedp.Evaluate[T](expression, chromedp.EvalAwaitPromise))
	if err != nil {
		b.t.Fatalf("%v\nin %.300s", err, expression)
	}
	return v
}

func quote(s string) string {
	q, _ := json.Marshal(s)
	return string(q)
}

func (b *tab) where() string {
	ctx, cancel := context.WithTimeout(b.ctx, 5*time.Second)
	defer cancel()
	s, err := chromedp.Run(ctx, chromedp.Evaluate[string](`location.pathname + location.search + ": " + document.title`))
	if err != nil {
		return err.Error()
	}
	return s
}

// path is the address without the host.
func (b *tab) path() string { return eval[string](b, `location.pathname`) }

// load runs actions that lead to another document, and checks its status; 0
// takes the statuses of a question, 409 and 422.
func (b *tab) load(status int, steps ...chromedp.Action[chromedp.Void]) {
	b.t.Helper()
	b.mu.Lock()
	b.expected = status
	b.mu.Unlock()
	ctx, cancel := context.WithTimeout(b.ctx, patience)
	defer cancel()
	resp, err := chromedp.RunResponse(ctx, steps...)
	if err != nil {
		b.t.Fatalf("%v\nat %s", err, b.where())
	}
	if resp != nil && status == 0 && (resp.Status == 409 || resp.Status == 422) {
		return
	}
	if resp == nil || int(resp.Status) != status {
		b.t.Fatalf("answer %+v, want status %d\nat %s: %s", resp, status, b.where(), b.text())
	}
}

// open goes to a page of the server.
func (b *tab) open(path string) {
	b.t.Helper()
	b.load(200, chromedp.Navigate(b.base+path))
}

// click follows a link or presses a button that leads to another document.
func (b *tab) click(css string) { b.t.Helper(); b.clickFor(200, css) }

func (b *tab) clickFor(status int, css string) {
	b.t.Helper()
	x, y := b.point(css)
	b.load(status, chromedp.MouseClickXY(x, y))
}

// press clicks something that stays on the page.
func (b *tab) press(css string) {
	b.t.Helper()
	x, y := b.point(css)
	b.do(chromedp.MouseClickXY(x, y))
}

// point scrolls to the first element of a selector and returns its middle; it
// fails when there is none or a click would hit something else.
func (b *tab) point(css string) (x, y float64) {
	b.t.Helper()
	p := eval[struct {
		X, Y    float64
		Problem string
	}](b, `(function (el) {
		if (!el) { return {Problem: "is not there"}; }
		el.scrollIntoView({block: "center", behavior: "instant"});
		var r = el.getClientRects()[0];
		if (!r || !r.width || !r.height) { return {Problem: "cannot be seen"}; }
		var x = r.left + r.width / 2, y = r.top + r.height / 2, top = document.elementFromPoint(x, y);
		if (!top || !(el.contains(top) || top.contains(el))) { return {Problem: "is covered by " + (top ? top.outerHTML.slice(0, 80) : "the edge")}; }
		return {X: x, Y: y, Problem: ""};
	})(document.querySelector(`+quote(css)+`))`)
	if p.Problem != "" {
		b.t.Fatalf("%s %s, at %s", css, p.Problem, b.where())
	}
	return p.X, p.Y
}

func (b *tab) seen(css string) {
	b.t.Helper()
	if b.count(css) == 0 {
		b.t.Fatalf("no %s at %s", css, b.where())
	}
}

func (b *tab) count(css string) int {
	b.t.Helper()
	return eval[int](b, `document.querySelectorAll(`+quote(css)+`).length`)
}

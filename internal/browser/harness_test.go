package browser

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
)

var pictures = flag.String("pictures", "", "folder for pictures of the main pages; none by default")

// lanName is a name that Chromium resolves to this machine. Chromium trusts
// every loopback address as if it were https; a name it does not trust, so that
// pages under it behave as on a school network without https.
const lanName = "hatchery.test"

// process is the one Chromium of this test binary.
type process struct {
	once sync.Once
	ctx  context.Context
	stop func()
	err  error
}

var chrome process

func TestMain(m *testing.M) {
	flag.Parse()
	if addr := os.Getenv(childEnv); addr != "" {
		if err := serveAsChild(addr, os.Getenv(childDirEnv)); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		return
	}
	code := m.Run()
	if chrome.stop != nil {
		chrome.stop()
	}
	removeDemo()
	os.Exit(code)
}

// chromiumPath is "" when there is no Chromium.
func chromiumPath() string {
	if p := os.Getenv("REDDSIDE_CHROMIUM"); p != "" {
		return p
	}
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "chrome"} {
		if p, err := exec.LookPath(name); err == nil {
			return p
		}
	}
	return ""
}

// browserFor returns the context of the running Chromium, and starts it for the
// first test. It skips or fails the test when there is none.
func browserFor(t *testing.T) context.Context {
	t.Helper()
	mode, path := os.Getenv("REDDSIDE_BROWSER"), chromiumPath()
	switch {
	case mode == "skip":
		t.Skip("REDDSIDE_BROWSER=skip")
	case path == "" && mode == "required":
		t.Fatal("no Chromium found, and REDDSIDE_BROWSER=required; set REDDSIDE_CHROMIUM to its path")
	case path == "":
		t.Skip("no Chromium found; set REDDSIDE_CHROMIUM to its path to run the browser tests")
	}
	chrome.once.Do(func() { chrome.start(path) })
	if chrome.err != nil {
		t.Fatal("start Chromium:", chrome.err)
	}
	return chrome.ctx
}

func (p *process) start(path string) {
	dir, err := os.MkdirTemp("", "reddside-browser-")
	if err != nil {
		p.err = err
		return
	}
	opts := append(chromedp.DefaultExecAllocatorOptions[:],
		chromedp.ExecPath(path), chromedp.NoSandbox, chromedp.DisableGPU, chromedp.NoFirstRun,
		chromedp.UserDataDir(filepath.Join(dir, "profile")),
		chromedp.Flag("disable-quic", true),
		chromedp.Flag("disable-background-networking", true),
		chromedp.Flag("disable-component-update", true),
		chromedp.Flag("disable-sync", true),
		chromedp.Flag("disable-features", "Translate,HttpsUpgrades,OptimizationHints,MediaRouter"),
		chromedp.Flag("hide-scrollbars", false),
		chromedp.Flag("lang", "en"),
		// Names lead nowhere but here.
		chromedp.Flag("host-resolver-rules", fmt.Sprintf("MAP %s 127.0.0.1, MAP * ~NOTFOUND, EXCLUDE 127.0.0.1",
			lanName)),
	)
	alloc, endAlloc := chromedp.NewExecAllocator(context.Background(), opts...)
	ctx, end := chromedp.NewContext(alloc)
	p.stop = func() {
		end()
		endAlloc()
		// Child processes can write for a moment longer.
		for range 40 {
			if os.RemoveAll(dir) == nil {
				return
			}
			time.Sleep(50 * time.Millisecond)
		}
	}
	p.ctx, p.err = ctx, chromedp.Do(ctx)
	if errors.Is(p.err, context.Canceled) {
		p.err = fmt.Errorf("%s ended at once: %w", path, p.err)
	}
}

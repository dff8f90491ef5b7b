package browser

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
)

// TestPictures saves pictures of the main pages. It runs with -pictures DIR only.
func TestPictures(t *testing.T) {
	if *pictures == "" {
		t.Skip("runs with -pictures DIR")
	}
	if err := os.MkdirAll(*pictures, 0o755); err != nil {
		t.Fatal(err)
	}
	s := demoSite(t)
	b := newTab(t, s.base).as("coordinator")
	must(b, emulation.SetScrollbarsHidden, emulation.SetScrollbarsHiddenParams{Hidden: true})
	for _, scheme := range []string{"light", "dark"} {
		b.media(scheme, true)
		for _, size := range [][2]int64{{1280, 800}, {820, 1180}, {390, 844}} {
			b.size(size[0], size[1])
			for _, p := range places(s) {
				b.visit(p)
				png, err := chromedp.Run(b.ctx, chromedp.CaptureScreenshot())
				if err != nil {
					t.Fatal(err)
				}
				name := fmt.Sprintf("%s-%dx%d-%s.png", p.name, size[0], size[1], scheme)
				if err := os.WriteFile(filepath.Join(*pictures, name), png, 0o644); err != nil {
					t.Fatal(err)
				}
			}
		}
	}
}

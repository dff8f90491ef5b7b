package browser

import (
	"bytes"
	"os/exec"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
)

// printed are the pages that people take on paper, with a text of their start and
// one of their end: what is cut off is missing.
func printed(s *site) []struct{ path, first, last string } {
	hatching, closed := s.season("Room 12", true), s.season("Greenhouse", false)
	return []struct{ path, first, last string }{
		{seasonPath(closed, "/report"), "Report of Greenhouse", "Second count, blind"},
		{"/sites/" + string(hatching.Site.ID) + "/report", "Report of", "Corrected, %"},
		{"/report", "Report of", "All together"},
		{seasonPath(hatching, "/release?step=permit"), "Release day", "Health statement"},
		{"/tanks/" + string(hatching.Tank.ID) + "/delivery-day", "Delivery day", "Development index"},
		{seasonPath(hatching, "/failure"), "", ""},
		{"/calculators", "", ""},
		{"/comparison", "", ""},
	}
}

// TestPrintedPages prints them on both papers: no page is empty, and nothing is
// cut off at the end.
func TestPrintedPages(t *testing.T) {
	t.Parallel()
	s := demoSite(t)
	if _, err := exec.LookPath("pdftotext"); err != nil {
		t.Skip("pdftotext is not installed")
	}
	b := newTab(t, s.base).as("coordinator")
	for _, p := range printed(s) {
		b.open(p.path)
		for name, paper := range map[string]chromedp.PaperSize{"A4": chromedp.PaperA4, "Letter": chromedp.PaperLetter} {
			pdf, err := chromedp.Run(b.ctx, chromedp.PrintToPDF(chromedp.PDFPaper(paper), chromedp.PDFPreferCSSPageSize()))
			if err != nil {
				t.Fatal(err)
			}
			cmd := exec.Command("pdftotext", "-", "-")
			cmd.Stdin = bytes.NewReader(pdf)
			out, err := cmd.Output()
			if err != nil {
				t.Fatal("pdftotext:", err)
			}
			pages := strings.Split(strings.TrimSuffix(string(out), "\f"), "\f") // each page ends with a form feed
			for i, text := range pages {
				if len(strings.Fields(text)) < 3 {
					t.Errorf("%s on %s: page %d of %d is empty", p.path, name, i+1, len(pages))
				}
			}
			if !strings.Contains(strings.Join(strings.Fields(pages[0]), " "), p.first) {
				t.Errorf("%s on %s: the first page does not say %q", p.path, name, p.first)
			}
			text := strings.Join(strings.Fields(string(out)), " ")
			for _, want := range []string{p.first, p.last} {
				if !strings.Contains(text, want) {
					t.Errorf("%s on %s does not say %q", p.path, name, want)
				}
			}
		}
	}
}

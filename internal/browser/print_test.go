package browser

import (
	"bytes"
	"os"
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
	b := newTab(t, s.base).as("coordinator")
	for _, p := range printed(s) {
		b.open(p.path)
		for name, paper := range map[string]chromedp.PaperSize{"A4": chromedp.PaperA4, "Letter": chromedp.PaperLetter} {
			pdf, err := chromedp.Run(b.ctx, chromedp.PrintToPDF(chromedp.PDFPaper(paper), chromedp.PDFPreferCSSPageSize()))
			if err != nil {
				t.Fatal(err)
			}
			out, ok := pdfText(t, pdf)
			if !ok {
				t.SkipNow()
			}
			pages := strings.Split(strings.TrimSuffix(out, "\f"), "\f") // each page ends with a form feed
			for i, text := range pages {
				if len(strings.Fields(text)) < 3 {
					t.Errorf("%s on %s: page %d of %d is empty", p.path, name, i+1, len(pages))
				}
			}
			if !strings.Contains(strings.Join(strings.Fields(pages[0]), " "), p.first) {
				t.Errorf("%s on %s: the first page does not say %q", p.path, name, p.first)
			}
			text := strings.Join(strings.Fields(out), " ")
			for _, want := range []string{p.first, p.last} {
				if !strings.Contains(text, want) {
					t.Errorf("%s on %s does not say %q", p.path, name, want)
				}
			}
		}
	}
}

// wantPrinted looks for a text in a PDF, when pdftotext is there.
func (b *tab) wantPrinted(name string, pdf []byte, text string) {
	b.t.Helper()
	out, ok := pdfText(b.t, pdf)
	if ok && !strings.Contains(out, text) {
		b.t.Errorf("%s: the print does not say %q: %.500s", name, text, out)
	}
}

// pdfText returns the text of a PDF, each page ended by a form feed, or false
// where there is no pdftotext and browser tests are not required.
func pdfText(t *testing.T, pdf []byte) (string, bool) {
	t.Helper()
	if _, err := exec.LookPath("pdftotext"); err != nil {
		if os.Getenv("REDDSIDE_BROWSER") == "required" {
			t.Fatal("pdftotext is missing, and REDDSIDE_BROWSER=required; it is in Debian's poppler-utils")
		}
		t.Log("pdftotext is not installed (Debian's poppler-utils): the text of the print is not checked")
		return "", false
	}
	cmd := exec.Command("pdftotext", "-", "-")
	cmd.Stdin = bytes.NewReader(pdf)
	out, err := cmd.Output()
	if err != nil {
		t.Fatal("pdftotext:", err)
	}
	return string(out), true
}

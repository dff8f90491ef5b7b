package browser

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/emulation"
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
		{"/tanks/" + string(hatching.Tank.ID) + "/delivery-day", "Delivery day", "How far on the way to hatch"},
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
			pages := printedOn(t, b, paper)
			for i, text := range pages {
				if len(strings.Fields(text)) < 3 {
					t.Errorf("%s on %s: page %d of %d is empty", p.path, name, i+1, len(pages))
				}
			}
			if !strings.Contains(strings.Join(strings.Fields(pages[0]), " "), p.first) {
				t.Errorf("%s on %s: the first page does not say %q", p.path, name, p.first)
			}
			text := strings.Join(strings.Fields(strings.Join(pages, " ")), " ")
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

// TestPrintedSheets: the wall is one sheet, the board takes 25 tanks a sheet, the
// calendar begins on its first sheet, and each sheet says what it is, its day and its
// number.
func TestPrintedSheets(t *testing.T) {
	t.Parallel()
	s := demoSite(t)
	b := newTab(t, s.base).as("coordinator")
	site := "/sites/" + string(s.season("Room 12", true).Site.ID)
	for _, c := range []struct {
		path, first string
		most        int
		foot        string // "" for the number alone
	}{
		{site + "/wall", "Room 12", 1, ""},
		{"/board", "Room 12", 1, "Tanks – Reddside"},
		{"/programme/calendar", "Week of", 3, "Calendar of the programme – Reddside"},
		{site + "/paper", "Dead eggs taken out", 2, "Check sheet on paper – Reddside"},
	} {
		b.open(c.path)
		for name, paper := range map[string]chromedp.PaperSize{"A4": chromedp.PaperA4, "Letter": chromedp.PaperLetter} {
			pages := printedOn(t, b, paper)
			if len(pages) > c.most {
				t.Errorf("%s on %s takes %d sheets, at most %d", c.path, name, len(pages), c.most)
			}
			if !strings.Contains(pages[0], c.first) {
				t.Errorf("%s on %s does not begin on its first sheet: %.200s", c.path, name, pages[0])
			}
			for i, page := range pages {
				if number := fmt.Sprintf("%d/%d", i+1, len(pages)); !strings.Contains(strings.ReplaceAll(page, " ", ""),
					number) || !strings.Contains(page, c.foot) {
					t.Errorf("%s on %s: no foot with %q and %q on sheet %d", c.path, name, c.foot, number, i+1)
				}
			}
		}
	}
	b.open("/board")
	must(b, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: "print"})
	b.size(688, 1010) // the inside of A4
	// What stands above the first row, and 25 rows, are to fit on Letter less its margins.
	room := eval[struct{ Top, Row float64 }](b, `(function () {
		var rows = document.querySelectorAll("table.board tbody tr"), last = rows[rows.length - 1].getBoundingClientRect(), first = rows[0].getBoundingClientRect();
		return {Top: first.top + scrollY, Row: (last.bottom - first.top) / rows.length};
	})()`)
	if need := room.Top + 25*room.Row; need > 11*96-30*96/25.4 {
		t.Errorf("25 tanks take %.0f px of a sheet, %.1f each after %.0f", need, room.Row, room.Top)
	}
}

// printedOn prints the page and returns the text of each sheet; without pdftotext the
// test is skipped.
func printedOn(t *testing.T, b *tab, paper chromedp.PaperSize) []string {
	t.Helper()
	pdf, err := chromedp.Run(b.ctx, chromedp.PrintToPDF(chromedp.PDFPaper(paper), chromedp.PDFPreferCSSPageSize()))
	if err != nil {
		t.Fatal(err)
	}
	out, ok := pdfText(t, pdf)
	if !ok {
		t.SkipNow()
	}
	return strings.Split(strings.TrimSuffix(out, "\f"), "\f") // each sheet ends with a form feed
}

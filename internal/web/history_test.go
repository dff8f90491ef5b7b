package web

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/PuerkitoBio/goquery"

	"reddside/internal/units"
)

// A check that was corrected many times shows its newest 20 old forms and leads to
// the older ones; together the pages show each once.
func TestHistoryOfAnEntryIsPaged(t *testing.T) {
	ts := newTestServer(t)
	c := ts.check(ts.one, testToday, 7, 0)
	const corrections = 45
	for i := range corrections {
		c.TemperatureEntered, c.Temperature = fmt.Sprint(5+float64(i)/10), units.Some(units.Celsius(5+float64(i)/10))
		c.Note = fmt.Sprintf("form %03d", i+1)
		_, err := ts.DB.CorrectCheck(t.Context(), ts.coordinator, c.ID, int64(i+1), c, "misread",
			testNow.Add(time.Duration(i)*time.Minute), nil)
		ts.must(err)
	}
	b, path := ts.as(ts.keeper), "/checks/"+string(c.ID)
	seen := map[string]int{}
	for pages := 1; ; pages++ {
		p := b.get(path).want(t, 200)
		doc, err := goquery.NewDocumentFromReader(strings.NewReader(p.Body))
		ts.must(err)
		n := doc.Find("details.past")
		if n.Length() > 20 {
			t.Fatalf("page %d shows %d old forms", pages, n.Length())
		}
		for i := range corrections {
			name := fmt.Sprintf("form %03d", i)
			seen[name] += strings.Count(n.Text(), name)
		}
		if pages == 1 && !strings.Contains(n.First().Text(), fmt.Sprintf("form %03d", corrections-1)) {
			t.Error("the newest is not the first")
		}
		href := doc.Find(`a[href*="before="]`).AttrOr("href", "")
		if href == "" {
			if pages != 3 {
				t.Errorf("%d pages", pages)
			}
			break
		}
		path, _, _ = strings.Cut(href, "#")
	}
	for i := 1; i < corrections; i++ {
		if name := fmt.Sprintf("form %03d", i); seen[name] != 1 {
			t.Errorf("%s is shown %d times", name, seen[name])
		}
	}
	b.get("/checks/"+string(c.ID)+"?before=nonsense").want(t, 200, "form 044")
}

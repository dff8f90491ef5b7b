package web

import (
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/emersion/go-ical"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/store"
)

// icsComponent is a component as a reader of RFC 5545 sees it. The parser is
// written from the standard alone and shares nothing with the writer.
type icsComponent struct {
	name  string
	props map[string][]string // "NAME" or "NAME;PARAM=VALUE" to values
	subs  []*icsComponent
}

var icsName = regexp.MustCompile(`^[A-Za-z0-9-]+(;[A-Za-z0-9-]+=("[^"]*"|[^";:,]*))*:`)

// parseICS unfolds and parses a stream; what the standard forbids fails.
func parseICS(t *testing.T, body string) *icsComponent {
	t.Helper()
	if strings.Contains(strings.ReplaceAll(body, "\r\n", ""), "\n") ||
		strings.Contains(strings.ReplaceAll(body, "\r\n", ""), "\r") || !strings.HasSuffix(body, "\r\n") {
		t.Fatal("lines must end in CRLF (RFC 5545, 3.1)")
	}
	var lines []string
	for _, l := range strings.Split(strings.TrimSuffix(body, "\r\n"), "\r\n") {
		if len(l) > 75 {
			t.Errorf("a line of %d octets: %q", len(l), l)
		}
		if strings.ToValidUTF8(l, "?") != l {
			t.Errorf("a character is cut: %q", l)
		}
		if l != "" && (l[0] == ' ' || l[0] == '\t') {
			lines[len(lines)-1] += l[1:]
			continue
		}
		lines = append(lines, l)
	}
	root := &icsComponent{}
	stack := []*icsComponent{root}
	for _, l := range lines {
		head := icsName.FindString(l)
		if head == "" {
			t.Fatalf("not a content line: %q", l)
		}
		name, value := strings.ToUpper(strings.TrimSuffix(head, ":")), l[len(head):]
		top := stack[len(stack)-1]
		switch name {
		case "BEGIN":
			c := &icsComponent{name: value, props: map[string][]string{}}
			top.subs, stack = append(top.subs, c), append(stack, c)
		case "END":
			if top.name != value {
				t.Fatalf("END:%s inside %s", value, top.name)
			}
			stack = stack[:len(stack)-1]
		default:
			top.props[name] = append(top.props[name], value)
		}
	}
	if len(stack) != 1 || len(root.subs) != 1 || root.subs[0].name != "VCALENDAR" {
		t.Fatal("want one whole VCALENDAR")
	}
	return root.subs[0]
}

// unescape undoes the escapes of a TEXT value; others are not allowed.
func icsText(t *testing.T, s string) string {
	t.Helper()
	var b strings.Builder
	for i := 0; i < len(s); i++ {
		switch {
		case s[i] == ';' || s[i] == ',':
			t.Errorf("not escaped: %q", s)
		case s[i] != '\\':
			b.WriteByte(s[i])
		case i+1 < len(s) && strings.IndexByte(`\;,nN`, s[i+1]) >= 0:
			i++
			b.WriteString(strings.NewReplacer("n", "\n", "N", "\n").Replace(s[i : i+1]))
		default:
			t.Errorf("a stray backslash: %q", s)
		}
	}
	return b.String()
}

// events checks what the standard requires and returns summaries by UID.
func icsEvents(t *testing.T, body string) map[string][3]string {
	t.Helper()
	cal := parseICS(t, body)
	for _, need := range []string{"VERSION", "PRODID"} {
		if len(cal.props[need]) != 1 {
			t.Errorf("calendar without one %s", need)
		}
	}
	out := map[string][3]string{}
	for _, e := range cal.subs {
		for _, need := range []string{"UID", "DTSTAMP", "DTSTART;VALUE=DATE", "DTEND;VALUE=DATE", "SUMMARY"} {
			if len(e.props[need]) != 1 {
				t.Fatalf("%s without one %s: %v", e.name, need, e.props)
			}
		}
		if _, err := time.Parse("20060102T150405Z", e.props["DTSTAMP"][0]); err != nil {
			t.Error(err)
		}
		from, err1 := time.Parse("20060102", e.props["DTSTART;VALUE=DATE"][0])
		to, err2 := time.Parse("20060102", e.props["DTEND;VALUE=DATE"][0])
		if err1 != nil || err2 != nil || !to.After(from) {
			t.Errorf("days %v", e.props)
		}
		uid := e.props["UID"][0]
		if _, twice := out[uid]; twice {
			t.Errorf("UID %s twice", uid)
		}
		out[uid] = [3]string{from.Format("2006-01-02"), to.Format("2006-01-02"), icsText(t, e.props["SUMMARY"][0])}
	}
	return out
}

var feedAddress = regexp.MustCompile(`/calendar/[a-z0-9]{26}\.ics`)

func TestCalendarFeed(t *testing.T) {
	ts := newTestServer(t)
	reason := strings.Repeat("Récréation; neige, glace\\ ", 6)
	span, err := ts.DB.CreateClosedSpan(t.Context(), ts.keeper, ts.alder.ID,
		logbook.ClosedSpan{From: civil.MustParse("2026-02-12"), To: civil.MustParse("2026-02-13"),
			Reason: strings.TrimSpace(reason)}, testNow, store.IdempotencyKey{})
	ts.must(err)
	b := ts.as(ts.keeper)
	path := "/sites/" + string(ts.alder.ID) + "/calendar"
	b.get("/sites/"+string(ts.alder.ID)).want(t, 200, path)
	made := b.post(path, fields()).want(t, 200, "shown once")
	address := feedAddress.FindString(made.Body)
	if address == "" {
		t.Fatalf("no address: %s", plainText(made.Body))
	}
	secret := strings.TrimSuffix(strings.TrimPrefix(address, "/calendar/"), ".ics")
	if n := ts.sqlCount("SELECT count(*) FROM calendar_token WHERE token_hash = ? OR id = ?", secret, secret); n != 0 {
		t.Error("the secret itself is stored")
	}
	b.get(path).want(t, 200).lacks(t, secret)

	anybody := ts.as(noActor)
	feed := anybody.get(address).want(t, 200)
	if ct := feed.Header.Get("Content-Type"); ct != "text/calendar; charset=utf-8" {
		t.Errorf("type %q", ct)
	}
	events := icsEvents(t, feed.Body)
	cal, err := ical.NewDecoder(strings.NewReader(feed.Body)).Decode() // a reader of others
	ts.must(err)
	if n := len(cal.Events()); n != len(events) || n == 0 {
		t.Errorf("another reader finds %d events, ours %d", n, len(events))
	}
	closed := events["closed-"+string(span.ID)+"@reddside"]
	if closed[0] != "2026-02-12" || closed[1] != "2026-02-14" ||
		!strings.HasSuffix(closed[2], strings.TrimSpace(reason)) {
		t.Errorf("closed days %q", closed)
	}
	a, err := ts.Assess.Assess(t.Context(), ts.load(ts.one), testNow)
	ts.must(err)
	w := a.Forecast.Hatch
	hatch := events["hatch-"+string(ts.one.ID)+"@reddside"]
	if hatch[0] != w.P10.String() || hatch[1] != w.P90.AddDays(1).String() || !strings.HasPrefix(hatch[2], "Tank 1: ") {
		t.Errorf("hatch %q, forecast %v to %v", hatch, w.P10, w.P90)
	}
	check := func(d string) string { return "check-" + string(ts.alder.ID) + "-" + d + "@reddside" }
	if events[check("2026-02-11")][2] != "Check: Tank 1, Tank 2" {
		t.Errorf("check %q", events[check("2026-02-11")])
	}
	for _, d := range []string{"2026-02-12", "2026-02-14"} { // closed, Saturday
		if _, ok := events[check(d)]; ok {
			t.Errorf("a check is due on %s", d)
		}
	}
	if strings.Contains(feed.Body, "Tank B") {
		t.Error("another school's tank")
	}

	// UIDs stay when the feed is asked again later; the language is the school's.
	site, err := ts.DB.Site(t.Context(), ts.alder.ID)
	ts.must(err)
	site.Language = "fr"
	_, err = ts.DB.UpdateSite(t.Context(), ts.coordinator, site, testNow)
	ts.must(err)
	ts.at(testNow.Add(time.Hour))
	again := icsEvents(t, anybody.get(address).want(t, 200).Body)
	if len(again) != len(events) {
		t.Errorf("%d events, then %d", len(events), len(again))
	}
	for uid := range events {
		if _, ok := again[uid]; !ok {
			t.Errorf("UID %s is gone", uid)
		}
	}
	if got := again[check("2026-02-11")][2]; !strings.HasPrefix(got, "Vérification") {
		t.Errorf("French: %q", got)
	}

	// Ended for good, by somebody of this school only.
	revoke := regexp.MustCompile(path + `/[a-z0-9]{26}/revoke`).FindString(b.get(path).Body)
	ts.as(ts.birchKeeper).post(revoke, fields()).want(t, 404)
	other := strings.Replace(revoke, string(ts.alder.ID), string(ts.birch.ID), 1)
	ts.as(ts.birchKeeper).post(other, fields()).want(t, 404)
	anybody.get(address).want(t, 200)
	b.post(revoke, fields()).want(t, 303)
	anybody.get(address).want(t, 404)
	anybody.get("/calendar/none.ics").want(t, 404)
}

// The page lists by weeks what the feed holds, each with what to do, and how to
// have the dates in a calendar of one's own.
func TestCalendarPage(t *testing.T) {
	ts := newTestServer(t)
	ts.quietSeason(ts.one)
	p := ts.as(ts.keeper).get("/sites/"+string(ts.alder.ID)+"/calendar").want(t, 200, "Week of ", "Hatch expected", "Look every day",
		"Most likely", "subscribe by address", "By the forecast of today").lacks(t, "Check: ")
	if n := strings.Count(p.Body, "By the forecast of today"); n != 1 {
		t.Errorf("the caution stands %d times", n)
	}
}

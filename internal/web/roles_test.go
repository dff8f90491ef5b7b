package web

import (
	"fmt"
	"net/http"
	"net/http/httptest"
	"regexp"
	"strings"
	"testing"

	"reddside/internal/api"
	"reddside/internal/logbook"
)

// Who may use a route.
type access string

const (
	public   access = "public"      // anybody, without sign-in
	everyone access = "everyone"    // any sign-in
	staff    access = "staff"       // keepers and coordinators
	boss     access = "coordinator" // coordinators
	// judged is everyone, but what a class may change is judged by the entry:
	// a class may be refused with 403.
	judged access = "entry"
)

// pageAccess is the permission matrix of the pages; that of the JSON interface
// is its description. A route that is in neither fails the test. Whether a route
// belongs to a site follows from its address: it does when it names a row of
// one, and then it is not there for another site's keeper.
var pageAccess = map[string]access{
	"GET /": public, "GET /healthz": public, "GET /static/*": public,
	"GET /sign-in": public, "POST /sign-in": public, "POST /sign-out": public, "POST /demo/sign-in": public,
	"POST /language": public, "POST /units": public,
	"GET /kept": everyone, "POST /kept": everyone,
	"GET /seasons/{seasonID}/water": everyone, "GET /seasons/{seasonID}/food": everyone,
	"GET /calculators": public, "GET /calculators/{calc}": public,
	"GET /setup/file": public, "POST /setup/file": public, "GET /help": public,
	"GET /computer": staff, "POST /computer": staff, "POST /computer/file": boss,
	"POST /sites/{siteID}/tablets/{deviceID}/again": staff,
	"GET /setup": public, "POST /setup/code": public, "POST /setup/programme": public,
	"POST /setup/site": boss, "POST /setup/tank": boss, "POST /setup/lot": boss, "POST /setup/delivery": boss,

	"GET /pair": public, "GET /pair/{code}": public, "POST /pair": public, "GET /today": everyone,
	"GET /sites/{siteID}/tablets": staff, "POST /sites/{siteID}/tablets": staff,
	"GET /sites/{siteID}/tablets/{deviceID}": staff, "POST /sites/{siteID}/tablets/{deviceID}/withdraw": staff,

	"GET /board":                         everyone,
	"GET /seasons/{seasonID}":            everyone,
	"GET /sites/{siteID}/paper":          staff,
	"GET /seasons/{seasonID}/charts":     everyone,
	"GET /seasons/{seasonID}/log":        everyone,
	"GET /seasons/{seasonID}/facts":      everyone,
	"GET /tanks/{tankID}":                everyone,
	"GET /checks/{checkID}":              everyone,
	"GET /seasons/{seasonID}/survival":   everyone,
	"GET /seasons/{seasonID}/chart.json": everyone,
	"GET /seasons/{seasonID}/log.csv":    everyone,
	"GET /seasons/{seasonID}/checks/new": everyone,
	"POST /seasons/{seasonID}/checks":    everyone,
	"GET /seasons/{seasonID}/failure":    everyone, "GET /failure": everyone,
	"GET /seasons/{seasonID}/forecast": everyone, "GET /seasons/{seasonID}/forecast/how": everyone,
	"GET /seasons/{seasonID}/guess": everyone, "POST /seasons/{seasonID}/guess": everyone,
	"GET /guesses/{guessID}/correct": everyone, "POST /guesses/{guessID}/correct": everyone,
	"GET /checks/{checkID}/correct":  judged,
	"POST /checks/{checkID}/correct": judged,
	"GET /checks/{checkID}/void":     judged,
	"POST /checks/{checkID}/void":    judged,

	"GET /seasons/{seasonID}/flags":     everyone,
	"GET /seasons/{seasonID}/flags.csv": everyone,
	"GET /flags":                        staff, "GET /flags.csv": staff,
	"POST /flags/{flagID}/seen": staff, "GET /flags/{flagID}/aside": staff, "POST /flags/{flagID}/aside": staff,
	"GET /flags/{flagID}/finding": staff, "POST /flags/{flagID}/finding": staff,
	"POST /flags/{flagID}/wake": staff,
	"GET /flags/load":           boss, "GET /rules/thresholds": boss, "GET /rules/thresholds/{key}": boss,
	"POST /rules/thresholds/{key}": boss,
	"GET /rules/water-limits":      boss, "POST /rules/water-limits": boss,
	"GET /sites/{siteID}/kit": staff, "POST /sites/{siteID}/kit": staff,
	"GET /rules/recalibration": boss, "POST /rules/recalibration": boss,

	"GET /rules":                   staff,
	"GET /seasons/{seasonID}/plan": staff, "POST /seasons/{seasonID}/plan": staff,
	"POST /seasons/{seasonID}/plan/end":         staff,
	"POST /seasons/{seasonID}/forecast/confirm": staff,
	"GET /seasons/{seasonID}/events/new":        staff, "POST /seasons/{seasonID}/events": staff,
	"GET /seasons/{seasonID}/samples/new": staff, "POST /seasons/{seasonID}/samples": staff,
	"GET /samples/{sampleID}": staff, "GET /samples/{sampleID}/correct": staff,
	"POST /samples/{sampleID}/correct": staff,
	"GET /samples/{sampleID}/void":     staff, "POST /samples/{sampleID}/void": staff,
	"GET /events/{eventID}": staff, "GET /events/{eventID}/correct": staff, "POST /events/{eventID}/correct": staff,
	"GET /releases/{releaseID}/correct": staff, "POST /releases/{releaseID}/correct": staff,
	"GET /seasons/{seasonID}/photos": everyone, "POST /seasons/{seasonID}/photos": everyone,
	"GET /seasons/{seasonID}/families": everyone,
	"GET /photos/{photoID}.jpg":        everyone, "POST /photos/{photoID}/remove": staff,
	"GET /events/{eventID}/void": staff, "POST /events/{eventID}/void": staff,
	"GET /seasons/{seasonID}/import": staff, "POST /seasons/{seasonID}/import": staff,
	"GET /seasons/{seasonID}/import/{uploadID}": staff, "POST /seasons/{seasonID}/import/{uploadID}": staff,
	"GET /seasons/{seasonID}/import/{uploadID}/refused.csv":  staff,
	"GET /seasons/{seasonID}/imports/{importID}":             staff,
	"GET /seasons/{seasonID}/imports/{importID}/refused.csv": staff,
	"POST /seasons/{seasonID}/imports/{importID}/void":       staff,
	"GET /sites": staff, "GET /sites/{siteID}": staff, "GET /sites/{siteID}/edit": staff,
	"POST /sites/{siteID}/edit":           staff,
	"GET /sites/{siteID}/closed-days/new": staff, "POST /sites/{siteID}/closed-days": staff,
	"GET /sites/{siteID}/tanks/new": staff, "POST /sites/{siteID}/tanks": staff,
	"GET /tanks/{tankID}/edit": staff, "POST /tanks/{tankID}/edit": staff,
	"GET /tanks/{tankID}/seasons/new": staff, "POST /tanks/{tankID}/seasons": staff,
	"GET /deliveries/{deliveryID}/correct": staff, "POST /deliveries/{deliveryID}/correct": staff,
	"GET /deliveries/{deliveryID}/void": staff, "POST /deliveries/{deliveryID}/void": staff,
	"GET /lots": staff, "GET /lots/new": staff, "POST /lots": staff, "GET /lots/{lotID}/edit": staff,
	"POST /lots/{lotID}/edit":      staff,
	"GET /seasons/{seasonID}/edit": staff, "POST /seasons/{seasonID}/edit": staff,
	"GET /seasons/{seasonID}/deliveries/new": staff, "POST /seasons/{seasonID}/deliveries": staff,

	"GET /seasons/{seasonID}/class": everyone, "GET /seasons/{seasonID}/class/stage": everyone,
	"GET /seasons/{seasonID}/class/units": everyone,
	"GET /seasons/{seasonID}/class/tanks": everyone, "GET /seasons/{seasonID}/class/questions": everyone,
	"GET /seasons/{seasonID}/class/worksheet": everyone, "GET /sites/{siteID}/wall": everyone,

	"GET /comparison":                boss,
	"GET /replay":                    boss,
	"GET /seasons/{seasonID}/report": staff, "GET /sites/{siteID}/report": staff, "GET /report": boss,
	"GET /seasons/{seasonID}/release": staff, "POST /seasons/{seasonID}/release": staff,
	"GET /tanks/{tankID}/before-eggs": staff, "POST /tanks/{tankID}/before-eggs": staff,
	"GET /tanks/{tankID}/delivery-day": staff, "POST /tanks/{tankID}/delivery-day": staff,
	"GET /calendar/{token}.ics": public, "GET /sites/{siteID}/calendar": staff, "POST /sites/{siteID}/calendar": staff,
	"POST /sites/{siteID}/calendar/{calendarID}/revoke": staff,

	"GET /board/views": boss, "POST /board/views": boss, "POST /board/views/{viewID}/remove": boss,
	"GET /programme/calendar": boss, "GET /programme/calendar.csv": boss,
	"GET /copies": boss, "POST /copies/prove": boss,
	"GET /programme/new-year": boss, "POST /programme/new-year": boss,

	"GET /morning": staff, "GET /sites/{siteID}/morning": staff,
	"GET /sites/{siteID}/round": staff, "POST /sites/{siteID}/round": staff,
	"GET /sites/{siteID}/duty": staff, "POST /sites/{siteID}/duty": staff,
	"GET /sites/{siteID}/cover/new": staff, "POST /sites/{siteID}/cover": staff,
	"GET /sites/{siteID}/cover/{coverID}/correct": staff, "POST /sites/{siteID}/cover/{coverID}/correct": staff,
	"GET /sites/{siteID}/closed-days/{spanID}/correct":  staff,
	"POST /sites/{siteID}/closed-days/{spanID}/correct": staff,
	"GET /notes": staff, "GET /seasons/{seasonID}/notes": staff, "POST /seasons/{seasonID}/notes": staff,
	"POST /seasons/{seasonID}/notes/seen":             staff,
	"GET /seasons/{seasonID}/notes/{noteID}/withdraw": staff, "POST /seasons/{seasonID}/notes/{noteID}/withdraw": staff,

	"GET /releases": staff, "POST /releases": boss,
	"GET /permits": staff, "GET /permits/new": boss, "POST /permits": boss,
	"GET /permits/{permitID}/edit": boss, "POST /permits/{permitID}/edit": boss,
	"GET /permits/{permitID}/seasons": boss, "POST /permits/{permitID}/seasons": boss,
	"GET /release-places/new": boss, "POST /release-places": boss,
	"GET /release-places/{placeID}/edit": boss, "POST /release-places/{placeID}/edit": boss,
	"GET /sites/new": boss, "POST /sites": boss,
	"GET /people": boss, "GET /people/new": boss, "POST /people": boss,
	"GET /people/{accountID}/passphrase": boss, "POST /people/{accountID}/passphrase": boss,
	"POST /people/{accountID}/disable": boss,
}

var placeholderInPath = regexp.MustCompile(`\{\w+\}`)

// Rows of a site, by the names that addresses give their ids.
var siteRows = regexp.MustCompile(`\{(siteID|tankID|seasonID|checkID|eventID|sampleID|deliveryID|releaseID|photoID|guessID|flagID)\}`)

// roleTable holds what the test of the roles needs.
type roleTable struct {
	fullServer
	access map[string]access
	bodies map[string]string // examples of the JSON interface
}

// may reports whether a person passes the gate of a route.
func (a access) may(role logbook.Role) bool {
	switch a {
	case public:
		return true
	case everyone, judged:
		return role.Valid()
	case staff:
		return role == logbook.Keeper || role == logbook.Coordinator
	}
	return role == logbook.Coordinator
}

func TestEveryRouteAndRole(t *testing.T) {
	tab := roleTable{newFullServer(t), map[string]access{}, map[string]string{}}
	for r, a := range pageAccess {
		tab.access[r] = a
	}
	for _, op := range api.Operations() {
		r := strings.ToUpper(op.Method) + " /api/v1" + op.Path
		tab.access[r], tab.bodies[r] = access(op.Who), op.Example
	}
	people := []logbook.Actor{noActor, tab.class, tab.birchKeeper, tab.keeper, tab.coordinator}
	// A paired tablet has the rights of a class, by its cookie alone.
	tablet, strange := tab.pairedTablet(tab.alder.ID), tab.pairedTablet(tab.birch.ID)
	gone := tab.pairedTablet(tab.alder.ID)
	tab.must(tab.DB.RevokeDevice(t.Context(), tab.coordinator, gone.device.ID, testNow))
	seen := map[string]bool{}
	walkRoutes(t, tab.Server, func(method, path string) {
		r := method + " " + path
		seen[r] = true
		a := tab.access[r]
		if a == "" {
			t.Errorf("nobody said who may use %q: add it to pageAccess or describe it", r)
			return
		}
		for _, who := range people {
			if msg := tab.wrong(r, a, who, tab.ask(t, method, path, who)); msg != "" {
				t.Errorf("%s as %q of %s: %s", r, who.Role, who.SiteID, msg)
			}
		}
		for name, x := range map[string]struct {
			*pairedTablet
			as logbook.Actor
		}{"tablet": {tablet, tablet.device.Actor()}, "tablet of another school": {strange, strange.device.Actor()},
			"withdrawn tablet": {gone, noActor}} {
			if r == "POST /pair" || r == "POST /demo/sign-in" {
				continue // what they do has tests of its own
			}
			if msg := tab.wrong(r, a, x.as, x.ask(tab.request(method, path))); msg != "" {
				t.Errorf("%s as %s: %s", r, name, msg)
			}
		}
	})
	for r := range tab.access {
		if !seen[r] {
			t.Errorf("%q stands in the table, but there is no such route", r)
		}
	}
}

// ask sends one request with the ids of alder's rows in its address.
func (tab *roleTable) ask(t *testing.T, method, path string, who logbook.Actor) page {
	t.Helper()
	url := tab.address(path)
	if api, ok := strings.CutPrefix(url, "/api/v1"); ok {
		c := tab.program(who).with("If-Match", "*")
		return c.send(method, api, tab.fill(tab.bodies[method+" "+path]))
	}
	return tab.as(who).do(tab.request(method, path))
}

func (tab *roleTable) address(path string) string {
	return placeholderInPath.ReplaceAllString(tab.fill(strings.ReplaceAll(path, "*", "none")), "none")
}

// request is what a browser sends to a route, of the JSON interface too.
func (tab *roleTable) request(method, path string) *http.Request {
	req := httptest.NewRequest(method, tab.address(path), strings.NewReader(tab.fill(tab.bodies[method+" "+path])))
	switch {
	case strings.HasPrefix(path, "/api/"):
		req.Header.Set("Content-Type", "application/json")
		req.Header.Set("If-Match", "*")
	case method == "POST":
		req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	}
	return req
}

// wrong says what is wrong with an answer, "" for nothing.
func (tab *roleTable) wrong(r string, a access, who logbook.Actor, p page) string {
	api := strings.Contains(r, " /api/v1/")
	toSignIn := p.Status == 303 && strings.HasPrefix(p.Location, "/sign-in")
	// The lot of the fixture is in tanks of two schools: no keeper changes it or puts it
	// in another tank alone.
	sharedLot := who.Role == logbook.Keeper &&
		(r == "PATCH /api/v1/lots/{lotID}" || r == "POST /api/v1/seasons" && who.SiteID == tab.alder.ID)
	switch {
	case sharedLot:
		if p.Status != 403 {
			return fmt.Sprintf("a keeper changed a lot of other schools, got %d", p.Status)
		}
		return ""
	case p.Status >= 500:
		return "the program failed: " + plainText(p.Body)
	case a == public:
		if p.Status == 401 || p.Status == 403 {
			return "refused"
		}
	case !who.Role.Valid() && api:
		if p.Status != 401 {
			return "want 401, got " + p.show()
		}
	case !who.Role.Valid():
		if !toSignIn {
			return "want the sign-in page, got " + p.show()
		}
	case !a.may(who.Role):
		if p.Status != 403 {
			return "want 403, got " + p.show()
		}
	case who.SiteID != "" && who.SiteID != tab.alder.ID && siteRows.MatchString(r):
		if p.Status != 404 {
			return "want 404, got " + p.show()
		}
	case a == judged && who.Role == logbook.Class && p.Status == 403:
	case p.Status == 401 || p.Status == 403 || p.Status == 405 || toSignIn:
		return "want to be let in, got " + p.show()
	case p.Status == 404 && !strings.Contains(placeholderInPath.ReplaceAllStringFunc(r, tab.absent), "absent"):
		return "want to be let in, got " + p.show()
	}
	return ""
}

// absent marks the ids of an address behind which the test has no row.
func (tab *roleTable) absent(placeholder string) string {
	if tab.ids[strings.Trim(placeholder, "{}")] == "" {
		return "absent"
	}
	return ""
}

func (p page) show() string { return fmt.Sprintf("%d %s %s", p.Status, p.Location, plainText(p.Body)) }

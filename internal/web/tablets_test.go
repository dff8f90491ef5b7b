package web

import (
	"context"
	"encoding/xml"
	"image"
	"image/color"
	"net/http"
	"net/http/httptest"
	"net/url"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/qrcode"
	"pgregory.net/rapid"

	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/web/req"
	"reddside/internal/web/school"
)

// pairedTablet is a browser with nothing but the cookie of a paired tablet.
type pairedTablet struct {
	ts     *testServer
	device store.Device
	token  string
}

func (ts *testServer) pairedTablet(site logbook.ID) *pairedTablet {
	ts.t.Helper()
	ctx, code, token := context.Background(), string(logbook.NewID()), string(logbook.NewID())
	_, err := ts.DB.InviteDevice(ctx, ts.coordinator, store.Device{SiteID: site, Label: "Room 12 tablet",
		ExpiresAt: testNow.AddDate(0, 4, 0)},
		store.HashToken(code), testNow.Add(school.PairCodeLifetime), testNow)
	ts.must(err)
	d, err := ts.DB.PairDevice(ctx, store.HashToken(code), store.HashToken(token), "192.0.2.7:8080", testNow)
	ts.must(err)
	return &pairedTablet{ts, d, token}
}

// browser is a fresh browser of the tablet.
func (x *pairedTablet) browser() *browser {
	return &browser{ts: x.ts, cookies: map[string]string{req.CookieDevice: x.token}, lang: "en"}
}

func (x *pairedTablet) ask(req *http.Request) page { return x.browser().do(req) }

// readQR decodes the first QR code of a page with a reader that knows nothing of
// the writer.
func readQR(t testing.TB, body string) string {
	t.Helper()
	i := strings.Index(body, `<svg class="qr"`)
	if i < 0 {
		t.Fatalf("no QR code: %s", plainText(body))
	}
	var svg struct {
		ViewBox string `xml:"viewBox,attr"`
		Paths   []struct {
			D string `xml:"d,attr"`
		} `xml:"path"`
	}
	if err := xml.Unmarshal([]byte(body[i:i+strings.Index(body[i:], "</svg>")+6]), &svg); err != nil {
		t.Fatal(err)
	}
	size, err := strconv.Atoi(strings.Fields(svg.ViewBox)[2])
	if err != nil || len(svg.Paths) != 2 {
		t.Fatalf("QR code of %q with %d paths", svg.ViewBox, len(svg.Paths))
	}
	return decodeQR(t, size, svg.Paths[1].D)
}

var qrRun = regexp.MustCompile(`M(\d+) (\d+)h(\d+)v1h-(\d+)z`)

func decodeQR(t interface{ Fatal(...any) }, size int, path string) string {
	const scale = 6
	img := image.NewGray(image.Rect(0, 0, size*scale, size*scale))
	for i := range img.Pix {
		img.Pix[i] = 255
	}
	for _, m := range qrRun.FindAllStringSubmatch(path, -1) {
		var n [3]int
		for i := range n {
			n[i], _ = strconv.Atoi(m[i+1])
		}
		for y := n[1] * scale; y < (n[1]+1)*scale; y++ {
			for x := n[0] * scale; x < (n[0]+n[2])*scale; x++ {
				img.SetGray(x, y, color.Gray{})
			}
		}
	}
	bitmap, err := gozxing.NewBinaryBitmapFromImage(img)
	if err != nil {
		t.Fatal(err)
	}
	// The picture is drawn, not photographed: no search for corners is needed.
	pure := map[gozxing.DecodeHintType]any{gozxing.DecodeHintType_PURE_BARCODE: true}
	res, err := qrcode.NewQRCodeReader().Decode(bitmap, pure)
	if err != nil {
		t.Fatal(err)
	}
	return res.GetText()
}

// The reader is ZXing's (gozxing), the writer another project's: what one draws
// the other reads, whatever the address.
func TestQRCodeCanBeRead(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		text := rapid.StringMatching(`https?://[a-z0-9.\-]{1,40}(:[0-9]{2,5})?/pair/[2-9A-HJ-NP-Z]{8}`).Draw(rt,
			"address")
		qr, err := school.NewQR(text)
		if err != nil {
			rt.Fatal(err)
		}
		if got := decodeQR(rt, qr.Size, qr.Path); got != text {
			rt.Fatalf("read %q, drawn %q", got, text)
		}
	})
}

var shownCode = regexp.MustCompile(`<p class="pair-code">.*?([2-9A-HJ-NP-Z]{4}-[2-9A-HJ-NP-Z]{4})</p>`)

// invite makes a code as a keeper does, and returns its page.
func (ts *testServer) invite(b *browser, label string) (code string, p page, path string) {
	ts.t.Helper()
	list := "/sites/" + string(ts.alder.ID) + "/tablets"
	made := b.post(list, fields("label", label, "ends_on", "2026-06-30")).want(ts.t, 303)
	p = b.get(made.Location).want(ts.t, 200, label)
	m := shownCode.FindStringSubmatch(p.Body)
	if m == nil {
		ts.t.Fatalf("no code: %s", plainText(p.Body))
	}
	return m[1], p, made.Location
}

func TestTabletIsPaired(t *testing.T) {
	ts := newTestServer(t)
	keeper := ts.as(ts.keeper)
	list := "/sites/" + string(ts.alder.ID) + "/tablets"
	keeper.get("/sites/"+string(ts.alder.ID)).want(t, 200, `href="`+list+`"`)
	// The end of term is proposed: the next 30 June.
	keeper.get(list).want(t, 200, "No tablet is paired yet", "on this computer only", `href="/computer"`).
		lacks(t, "server -", "Show the code")
	if _, p, _ := ts.invite(keeper, "Nowhere"); strings.Contains(p.Body, `class="qr"`) {
		t.Error("a picture to scan that no tablet can use")
	}
	_, err := ts.Listening(t.Context(), fakeAddr("192.0.2.7:8080"), nil)
	ts.must(err)
	keeper.get(list).want(t, 200, `value="2026-06-30"`, "Show the code")
	code, p, path := ts.invite(keeper, "Room 12 tablet")
	if got, want := readQR(t, p.Body), "http://192.0.2.7:8080/pair/"+strings.ReplaceAll(code, "-", ""); got != want {
		t.Errorf("the QR code reads %q, want %q", got, want)
	}
	// Nothing but a POST with the right code pairs, and nobody else sees the code.
	if shownCode.MatchString(ts.as(ts.keeper).get(path).Body) {
		t.Error("another browser shows the code")
	}
	tablet := ts.as(noActor)
	for range 2 {
		tablet.get("/pair/"+code).want(t, 200, code, "Pair this tablet")
	}
	if len(tablet.cookies) != 1 || tablet.cookies[req.CookieDevice] != "" {
		t.Errorf("cookies after looking: %v", tablet.cookies)
	}
	tablet.get("/today").want(t, 303)

	w := tablet.post("/pair", fields("code", strings.ToLower(code), "scanned", "yes")).want(t, 303)
	if w.Location != "/today" {
		t.Errorf("goes on to %s", w.Location)
	}
	set := strings.Join(w.Header.Values("Set-Cookie"), "\n")
	if m := regexp.MustCompile(req.CookieDevice +
		`=([A-Z2-7]{26}); Path=/; Expires=([^;]*); Max-Age=\d+; HttpOnly; SameSite=Lax`).FindStringSubmatch(set); m == nil {
		t.Errorf("cookie: %s", set)
	} else if until, err := time.Parse(http.TimeFormat, m[2]); err != nil || until.Before(testNow.AddDate(0, 4, 0)) {
		t.Errorf("the cookie ends %s", m[2])
	}
	tablet.get("/").want(t, 303)
	tablet.get("/today").want(t, 200, "Our tanks today", "Tank 1", "Atlantic salmon", "2 tanks wait",
		seasonPath(ts.one, "checks/new"), "This tablet is paired: Room 12 tablet").
		lacks(t, "Tank B", "Sign out", `"/sites"`, "/tablets")
	keeper.get(path).want(t, 200, "The tablet is paired").lacks(t, code)
	keeper.get(list).want(t, 200, "In use", "10 February 2026", "30 June 2026")

	// Its check is that of the class, under the tablet's name.
	tablet.post(seasonPath(ts.one, "checks"), plainCheck("observer", "")).want(t, 303)
	c := ts.load(ts.one).Checks[0]
	if c.By != logbook.Class || c.ByLabel != "Room 12 tablet" {
		t.Errorf("entered by %q, %q", c.By, c.ByLabel)
	}
	tablet.get("/today").want(t, 200, "1 tank waits", "/checks/"+string(c.ID), "Checked at 09:00 by Room 12 tablet")
	tablet.post(seasonPath(ts.far, "checks"), plainCheck()).want(t, 404)
	// A code works once.
	ts.as(noActor).post("/pair", fields("code", code)).want(t, 422, "does not fit")
	// A tablet may look and add checks over the JSON interface too, no more.
	tablet.get("/api/v1/board").want(t, 200, string(ts.one.ID)).lacks(t, string(ts.far.ID))
	tablet.get("/api/v1/sites").want(t, 403)

	// Withdrawn, it is nobody at once; what it sends is kept.
	m := regexp.MustCompile(`action="(` + list + `/\w+/withdraw)"`).FindStringSubmatch(keeper.get(list).Body)
	ts.as(ts.birchKeeper).post(m[1], nil).want(t, 404)
	keeper.post(m[1], nil).want(t, 303)
	keeper.get(list).want(t, 200, "Taken back on 10 February 2026 by Keeper, Aldermoss School").lacks(t, "In use")
	p = tablet.get("/today").want(t, 303)
	if p.Location != "/sign-in?next=%2Ftoday" {
		t.Errorf("a withdrawn tablet goes to %s", p.Location)
	}
	tablet.post(seasonPath(ts.two, "checks"), plainCheck("note", "typed in time")).want(t, 303)
	tablet.get("/sign-in").want(t, 200, "Your entry is kept", `href="/pair"`)
	again, _, _ := ts.invite(keeper, "Room 12 tablet again")
	tablet.get("/pair/"+again).want(t, 200, "Your entry is kept")
	p = tablet.post("/pair", fields("code", again)).want(t, 303)
	form := tablet.get(p.Location).want(t, 200, "typed in time", "Nothing of it is saved yet").hidden()
	p = tablet.post(req.PendingPath, joined(form, fields("do", "save"))).want(t, 303)
	tablet.get(p.Location).want(t, 200, "typed in time")
}

func TestTabletEnds(t *testing.T) {
	ts := newTestServer(t)
	keeper := ts.as(ts.keeper)
	code, _, path := ts.invite(keeper, "Room 12 tablet")
	ts.at(testNow.Add(school.PairCodeLifetime - time.Second))
	keeper.get(path).want(t, 200, code)
	ts.at(testNow.Add(school.PairCodeLifetime))
	keeper.get(path).want(t, 200, "used up or too old").lacks(t, code)
	tablet := ts.as(noActor)
	tablet.post("/pair", fields("code", code)).want(t, 422, "does not fit")
	ts.at(testNow)
	code, _, _ = ts.invite(keeper, "Room 12 tablet")
	tablet.post("/pair", fields("code", code)).want(t, 303)
	halifax := ts.alder.Location()
	ts.at(time.Date(2026, 6, 30, 23, 59, 0, 0, halifax))
	tablet.get("/today").want(t, 200)
	ts.at(time.Date(2026, 7, 1, 0, 0, 0, 0, halifax))
	tablet.get("/today").want(t, 303)
	ts.as(ts.keeper).get("/sites/"+string(ts.alder.ID)+"/tablets").want(t, 200, "Ended", "30 June 2026")
}

func TestTabletFormProblems(t *testing.T) {
	ts := newTestServer(t)
	list := "/sites/" + string(ts.alder.ID) + "/tablets"
	for _, x := range []struct{ label, ends, want string }{
		{"", "2026-06-30", "label-problem"},
		{"Room 12", "", "Enter the last day"},
		{"Room 12", "soon", "It must be a date"},
		{"Room 12", "2026-02-09", "This day is over"},
		{"Room 12", "2027-06-30", "a year at most"},
	} {
		for _, lang := range []string{"en", "fr"} {
			b := ts.as(ts.keeper)
			b.lang = lang
			p := b.post(list, fields("label", x.label, "ends_on", x.ends)).want(t, 422, `id="summary"`,
				`value="`+x.ends+`"`)
			if lang == "en" {
				p.want(t, 422, x.want)
			}
		}
	}
	if n, err := ts.DB.Devices(t.Context(), ""); err != nil || len(n) != 0 {
		t.Errorf("%d tablets all the same, %v", len(n), err)
	}
}

// A keeper who opens the address in his own browser is told, and signed out when
// he goes on: a tablet is never a keeper's.
func TestPairingSignsOut(t *testing.T) {
	ts := newTestServer(t)
	keeper := ts.as(ts.keeper)
	code, _, _ := ts.invite(keeper, "Room 12 tablet")
	keeper.get("/pair/"+code).want(t, 200, "Keeper, Aldermoss School is signed in here")
	keeper.post("/pair", fields("code", code)).want(t, 303)
	keeper.get("/sites").want(t, 403)
	// Paired anew, the old pairing of this browser is over.
	old := keeper.cookies[req.CookieDevice]
	code, _, _ = ts.invite(ts.as(ts.keeper), "Room 14 tablet")
	keeper.post("/pair", fields("code", code)).want(t, 303)
	if _, err := ts.DB.DeviceByToken(t.Context(), store.HashToken(old),
		testNow); logbook.KindOf(err) != logbook.NotFound {
		t.Errorf("the old pairing still works: %v", err)
	}
	keeper.get("/today").want(t, 200, "Room 14 tablet")
}

func TestAddressesOfTheTabletsPage(t *testing.T) {
	ts := newTestServer(t)
	ts.pairedTablet(ts.alder.ID) // under 192.0.2.7:8080
	list := "/sites/" + string(ts.alder.ID) + "/tablets"
	listen := func(addr string, names ...string) []string {
		t.Helper()
		got, err := ts.Listening(t.Context(), fakeAddr(addr), names)
		ts.must(err)
		return got
	}
	if got := listen("127.0.0.1:8080"); len(got) != 0 {
		t.Errorf("loopback is reached at %v", got)
	}
	ts.as(ts.keeper).get(list).want(t, 200, "on this computer only").lacks(t,
		"has changed")
	if got := listen("192.0.2.7:8080", "tanks.school.example"); len(got) != 2 || got[0] != "tanks.school.example:8080" {
		t.Errorf("reached at %v", got)
	}
	p := ts.as(ts.keeper).get(list).want(t, 200, "http://192.0.2.7:8080").lacks(t, "has changed")
	if got := readQR(t, p.Body); got != "http://tanks.school.example:8080/" {
		t.Errorf("QR code %q", got)
	}
	// Another address at the next start: both the tablet and the old address are named.
	listen("192.0.2.9:8080")
	ts.as(ts.keeper).get(list).want(t, 200, "The address has changed",
		"Room 12 tablet was paired under http://192.0.2.7:8080",
		"At the last start Reddside was at http://192.0.2.7:8080", "http://192.0.2.9:8080")
	ts.as(noActor).get("/pair").want(t, 200, "The address of Reddside has changed: it was http://192.0.2.7:8080")
	// One button pairs it again under the same name; the old pairing ends.
	again := regexp.MustCompile(`action="([^"]*/again)"`).FindStringSubmatch(ts.as(ts.keeper).get(list).Body)
	if again == nil {
		t.Fatal("no button to pair it again")
	}
	b := ts.as(ts.keeper)
	made := b.post(again[1], fields()).want(t, 303)
	if got := readQR(t, b.get(made.Location).want(t, 200, "Pair Room 12 tablet").Body); !strings.HasPrefix(got,
		"http://192.0.2.9:8080/pair/") {
		t.Errorf("QR code %q", got)
	}
	b.post(again[1], fields()).want(t, 409)
	ts.as(ts.keeper).get(list).lacks(t, "/again").want(t, 200, "Waits for its code", "Taken back")
	// The keeper's own address comes first: it is known to work.
	req := newGet(list)
	ts.Hosts["hatchery.example"] = true
	req.Host = "hatchery.example:8080"
	for name, value := range b.cookies {
		req.AddCookie(&http.Cookie{Name: name, Value: value})
	}
	if got := readQR(t, record(ts, req).Body.String()); got != "http://hatchery.example:8080/" {
		t.Errorf("QR code %q", got)
	}
}

type fakeAddr string

func (fakeAddr) Network() string  { return "tcp" }
func (a fakeAddr) String() string { return string(a) }

func newGet(path string) *http.Request { return httptest.NewRequest("GET", path, nil) }

func newPost(path string, f url.Values) *http.Request {
	req := httptest.NewRequest("POST", path, strings.NewReader(f.Encode()))
	req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	return req
}

func record(h http.Handler, req *http.Request) *httptest.ResponseRecorder {
	w := httptest.NewRecorder()
	h.ServeHTTP(w, req)
	return w
}

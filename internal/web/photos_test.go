package web

import (
	"bytes"
	"image"
	"image/color"
	"image/jpeg"
	"math/rand/v2"
	"mime/multipart"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"reddside/internal/logbook"
	"reddside/internal/web/tank"
)

func (b *browser) sendPhoto(s *logbook.Season, data []byte, alt string, more ...string) page {
	var body bytes.Buffer
	form := multipart.NewWriter(&body)
	_ = form.WriteField("alt", alt)
	if len(more) == 0 {
		more = []string{"on", ""}
	}
	for i := 0; i < len(more); i += 2 {
		_ = form.WriteField(more[i], more[i+1])
	}
	if data != nil {
		w, err := form.CreateFormFile("photo", "class of spring.jpg")
		b.ts.must(err)
		_, _ = w.Write(data)
	}
	_ = form.Close()
	req := httptest.NewRequest("POST", seasonPath(s, "photos"), &body)
	req.Header.Set("Content-Type", form.FormDataContentType())
	return b.do(req)
}

// telephone is a JPEG file with a block as a telephone writes it: that the block
// goes is tested in picture.
func telephone(t *testing.T) []byte {
	t.Helper()
	m := image.NewRGBA(image.Rect(0, 0, 64, 48))
	rng := rand.New(rand.NewPCG(1, 2))
	for i := range 64 * 48 {
		m.Set(i%64, i/64, color.RGBA{uint8(rng.Uint32()), uint8(rng.Uint32()), 90, 255})
	}
	var b bytes.Buffer
	if err := jpeg.Encode(&b, m, nil); err != nil {
		t.Fatal(err)
	}
	xmp := "http://ns.adobe.com/xap/1.0/\x00<GPSLatitude>45,30N</GPSLatitude>"
	out := append(bytes.Clone(b.Bytes()[:2]), 0xff, 0xe1, 0, byte(len(xmp)+2))
	return append(append(out, xmp...), b.Bytes()[2:]...)
}

func TestPhotos(t *testing.T) {
	ts := newTestServer(t)
	b := ts.as(ts.keeper)
	list := seasonPath(ts.one, "photos")
	b.get(list).want(t, 200, "No faces of children", `enctype="multipart/form-data"`)
	b.sendPhoto(ts.one, nil, "").want(t, 422, "Choose a picture first", "Write in a few words", `href="#photo"`,
		`href="#alt"`)
	b.sendPhoto(ts.one, []byte("GIF89a"), "fry <in> a bucket").want(t, 422, "not a JPEG or PNG",
		`value="fry &lt;in&gt; a bucket"`)
	b.sendPhoto(ts.one, make([]byte, tank.MaxPhoto+1), "fry").want(t, 422, "larger than 15 MB")
	b.sendPhoto(ts.one, telephone(t), "fry <in> a bucket").want(t, 303)

	doc := b.get(list).want(t, 200, "10 February 2026: fry &lt;in&gt; a bucket").doc(t)
	src, _ := doc.Find("figure img").Attr("src")
	file := b.get(src).want(t, 200)
	if file.Header.Get("Content-Type") != "image/jpeg" || strings.Contains(file.Body, "GPS") ||
		strings.Contains(file.Body, "adobe") {
		t.Errorf("served as %v, %d bytes", file.Header, len(file.Body))
	}
	if c, err := jpeg.DecodeConfig(strings.NewReader(file.Body)); err != nil || c.Width != 64 || c.Height != 48 {
		t.Errorf("%v %v", c, err)
	}
	b.get(seasonPath(ts.one, "report")).want(t, 200, `alt="fry &lt;in&gt; a bucket"`, src, "Photographs")
	b.get(seasonPath(ts.one, "release?step=stream")).want(t, 200, list)

	ts.as(ts.birchKeeper).get(src).want(t, 404)
	ts.as(ts.birchKeeper).get(list).want(t, 404)
	// The class of the school sees it and may take one with a check, but removes none.
	class := ts.as(ts.class)
	class.get(src).want(t, 200)
	class.get(list).want(t, 200, "fry &lt;in&gt; a bucket").lacks(t, "/remove", pathOf(ts.one)+"/release")
	class.post(strings.TrimSuffix(src, ".jpg")+"/remove", fields("reason", "x")).want(t, 403)
	remove := strings.TrimSuffix(src, ".jpg") + "/remove"
	ts.as(ts.birchKeeper).post(remove, fields("reason", "mine")).want(t, 404)

	b.post(remove, fields("reason", " ")).want(t, 422, "<details", "open")
	b.post(remove, fields("reason", "a face")).want(t, 303)
	b.get(src).want(t, 404)
	b.get(list).want(t, 200).lacks(t, "<figure")
	// The picture is gone from the file; that there was one is not.
	scan := file.Body[len(file.Body)/2 : len(file.Body)/2+64]
	dir := filepath.Dir(ts.DB.Path())
	ts.must(ts.DB.Close())
	for _, name := range []string{"", "-wal"} {
		data, err := os.ReadFile(ts.DB.Path() + name)
		if err == nil && bytes.Contains(data, []byte(scan)) {
			t.Errorf("the picture is still in %q of %s", name, dir)
		}
	}
	if n := ts.sqlCount("SELECT count(*) FROM photo WHERE voided = 1 AND reason = 'a face' AND length(jpeg) = 0"); n != 1 {
		t.Errorf("%d rows of it", n)
	}
}

func TestPhotosAreFew(t *testing.T) {
	ts := newTestServer(t)
	b := ts.as(ts.keeper)
	data := telephone(t)
	for range logbook.MaxPhotos {
		b.sendPhoto(ts.one, data, "fry").want(t, 303)
	}
	b.get(seasonPath(ts.one, "photos")).want(t, 200, "no room").lacks(t, "multipart")
	b.sendPhoto(ts.one, data, "fry").want(t, 422, "keeps 60 pictures")
}

// One tap after a check: the picture stands in the log of its day, on the page of
// the tank and, the newest, on the sheet for families; without words of its own it
// says what it was taken with.
func TestPhotoOfACheck(t *testing.T) {
	ts := newTestServer(t)
	b := ts.as(ts.class)
	saved := b.post(seasonPath(ts.one, "checks"), plainCheck()).want(t, 303).Location
	b.get(saved).want(t, 200, "Take a photograph", `capture="environment"`, "No faces of children")
	p := b.sendPhoto(ts.one, telephone(t), "", "check", strings.TrimPrefix(saved, "/checks/"), "on", testDay).want(t, 303)
	if p.Location != saved {
		t.Errorf("leads to %s", p.Location)
	}
	b.get(saved).want(t, 200, "The picture is kept")
	for _, path := range []string{seasonPath(ts.one, "log"), pathOf(ts.one), seasonPath(ts.one, "families")} {
		b.get(path).want(t, 200, `alt="Tank 1 at its check"`)
	}
	b.sendPhoto(ts.one, []byte("GIF89a"), "", "check", strings.TrimPrefix(saved, "/checks/")).want(t, 422, "not a JPEG")
}

// The sheet for families names nobody and tells of no alarm.
func TestFamilies(t *testing.T) {
	ts := newTestServer(t)
	page := seasonPath(ts.one, "families")
	ts.check(ts.one, testToday, 14, 40)
	ts.as(ts.class).get(page).want(t, 200, "For families", "eggs of Atlantic salmon", "They hatch: ", "If there were a hundred",
		"Print this page").lacks(t, "Act", "Watch", "flag", "Keeper", "Group 3", "14.0")
	ts.as(ts.birchKeeper).get(page).want(t, 404)
	ts.as(noActor).get(page).want(t, 303)
}

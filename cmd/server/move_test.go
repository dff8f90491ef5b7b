package main

import (
	"archive/zip"
	"bytes"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"encoding/json"
	"io"
	"mime/multipart"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/alexedwards/argon2id"

	"reddside/internal/logbook"
	"reddside/internal/store"
)

// visitor is a browser at a server.
func visitor(t *testing.T, base string) *served {
	t.Helper()
	jar, err := cookiejar.New(nil)
	if err != nil {
		t.Fatal(err)
	}
	return &served{t, base, &http.Client{Jar: jar, Timeout: 20 * time.Second}}
}

func (s *served) signsInAs(name string) {
	s.t.Helper()
	res, body := s.ask("POST", "/sign-in", url.Values{"account": {name}, "passphrase": {wordsOfKeeper}}, "Origin", s.base)
	if res.Request.URL.Path == "/sign-in" {
		s.t.Fatalf("sign-in: %d %s", res.StatusCode, body)
	}
}

// sends uploads a file on the set-up page.
func (s *served) sends(name string, file []byte) (int, string) {
	s.t.Helper()
	var b bytes.Buffer
	form := multipart.NewWriter(&b)
	w, err := form.CreateFormFile("file", name)
	if err == nil {
		_, err = w.Write(file)
	}
	if err == nil {
		err = form.Close()
	}
	if err != nil {
		s.t.Fatal(err)
	}
	req, err := http.NewRequest("POST", s.base+"/setup/file", &b)
	if err != nil {
		s.t.Fatal(err)
	}
	req.Header.Set("Content-Type", form.FormDataContentType())
	req.Header.Set("Origin", s.base)
	res, err := s.client.Do(req)
	if err != nil {
		s.t.Fatal(err)
	}
	defer res.Body.Close()
	body, err := io.ReadAll(res.Body)
	if err != nil {
		s.t.Fatal(err)
	}
	return res.StatusCode, string(body)
}

// otherLayout is a moving file whose logbook claims another layout, whole otherwise.
func otherLayout(t *testing.T, file []byte, change string) []byte {
	t.Helper()
	z, err := zip.NewReader(bytes.NewReader(file), int64(len(file)))
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	for _, f := range z.File {
		b, err := z.Open(f.Name)
		if err != nil {
			t.Fatal(err)
		}
		data, err := io.ReadAll(b)
		if err == nil {
			err = os.WriteFile(filepath.Join(dir, f.Name), data, 0o600)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	path := filepath.Join(dir, store.FileName)
	db, err := sql.Open("sqlite", path)
	if err == nil {
		_, err = db.Exec(change)
	}
	if err != nil {
		t.Fatal(err)
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	sum := sha256.Sum256(data)
	said, err := json.Marshal(store.Manifest{SHA256: hex.EncodeToString(sum[:]), Bytes: int64(len(data))})
	if err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	w := zip.NewWriter(&out)
	for name, b := range map[string][]byte{store.FileName: data, store.FileName + ".json": said} {
		f, err := w.Create(name)
		if err == nil {
			_, err = f.Write(b)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// The whole move between two running programs: a coordinator takes the file out of
// the first, and the set-up of the second takes it in. Files that are cut, changed,
// foreign, newer or too old are refused in words and change nothing.
func TestMoveToAnotherComputer(t *testing.T) {
	from, site := newLogbook(t)
	plantKeeper(t, from, site)
	db, err := store.Open(t.Context(), from, store.Options{})
	if err != nil {
		t.Fatal(err)
	}
	hash, err := argon2id.CreateHash(wordsOfKeeper, &argon2id.Params{Memory: 8 * 1024, Iterations: 1, Parallelism: 1,
		SaltLength: 16, KeyLength: 32})
	if err == nil {
		_, err = db.CreateAccount(t.Context(), store.Account{Role: logbook.Coordinator, Label: "Coordinator",
			PassphraseHash: hash}, time.Now())
	}
	if err != nil {
		t.Fatal(err)
	}
	const token = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
	boss := logbook.Actor{Role: logbook.Coordinator, Label: "Coordinator"}
	_, err = db.InviteDevice(t.Context(), boss, store.Device{SiteID: site, Label: "Room 12 tablet",
		ExpiresAt: time.Now().AddDate(0, 1, 0)}, "code", time.Now().Add(time.Hour), time.Now())
	if err == nil {
		_, err = db.PairDevice(t.Context(), "code", store.HashToken(token), "192.0.2.7:8080", time.Now())
	}
	if err != nil {
		t.Fatal(err)
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}

	first, _, endFirst := desktop(t, from)
	old := visitor(t, first)
	old.signsInAs("Coordinator")
	res, file := old.ask("POST", "/computer/file", url.Values{}, "Origin", first)
	if res.StatusCode != 200 || !strings.Contains(res.Header.Get("Content-Disposition"), ".zip") {
		t.Fatalf("the file: %d %v", res.StatusCode, res.Header)
	}
	if left, _ := filepath.Glob(filepath.Join(from, ".moving*")); len(left) > 0 {
		t.Errorf("left behind: %v", left)
	}
	endFirst()

	into := t.TempDir()
	second, said, endSecond := desktop(t, into)
	defer endSecond()
	fresh := visitor(t, second)
	if code, _ := fresh.sends("move.zip", []byte(file)); code == 200 && openedBy(t, into) {
		t.Fatal("the file was taken from somebody without the code")
	}
	m := regexp.MustCompile(`enter this code once: (\S+)`).FindStringSubmatch(said.String())
	if m == nil {
		t.Fatalf("no code: %s", said)
	}
	if _, body := fresh.ask("GET", "/setup?code="+m[1], nil); !strings.Contains(body, m[1]) {
		t.Error("the code of the address is not filled in")
	}
	_, body := fresh.ask("POST", "/setup/code", url.Values{"setup_code": {m[1]}}, "Origin", second)
	if !strings.Contains(body, "I have a file from another computer") {
		t.Fatalf("no way in: %s", body)
	}
	turned := []byte(file)
	turned[len(turned)/2] ^= 1
	for _, x := range []struct {
		name string
		file []byte
		want string
	}{
		{"cut.zip", []byte(file[:len(file)/2]), "cut.zip is no whole file"},
		{"turned.zip", turned, "turned.zip was cut or changed"},
		{"words.zip", []byte("only words"), "words.zip is no whole file"},
		{"empty.zip", nil, "empty.zip is no whole file"},
		{"newer.zip", otherLayout(t, []byte(file),
			"INSERT INTO goose_db_version (version_id, is_applied) VALUES (9999, 1)"), "newer version of Reddside"},
		{"early.zip", otherLayout(t, []byte(file),
			"DELETE FROM goose_db_version WHERE version_id > 3"), "before the first release"},
	} {
		if code, body := fresh.sends(x.name, x.file); code != http.StatusUnprocessableEntity ||
			!strings.Contains(body, x.want) {
			t.Errorf("%s: %d, without %q: %s", x.name, code, x.want, body)
		}
	}
	if openedBy(t, into) {
		t.Fatal("a refused file was put in place")
	}
	if left, _ := filepath.Glob(filepath.Join(into, ".moving*")); len(left) > 0 {
		t.Errorf("left behind: %v", left)
	}

	if code, body := fresh.sends("move.zip", []byte(file)); code != 200 || !strings.Contains(body, "being put in place") {
		t.Fatalf("the file: %d %s", code, body)
	}
	// The next request waits until the logbook is in place: no error in between.
	fresh.signsInAs("Coordinator")
	if res, _ := fresh.ask("GET", "/people", nil); res.StatusCode != 200 || res.Request.URL.Path != "/people" {
		t.Errorf("after the move: %d at %s", res.StatusCode, res.Request.URL)
	}
	tablet := visitor(t, second)
	if res, _ := tablet.ask("GET", "/today", nil, "Cookie", "reddside_device="+token); res.Request.URL.Path != "/today" {
		t.Errorf("the pairing did not come along: %s", res.Request.URL)
	}
	if code, _ := fresh.sends("move.zip", []byte(file)); code == 200 && !openedBy(t, into) {
		t.Error("a logbook in use was replaced")
	}
	if left, _ := filepath.Glob(filepath.Join(into, "moved-in*")); len(left) > 0 {
		t.Errorf("left behind: %v", left)
	}
}

// openedBy reports whether the logbook of a folder has a programme.
func openedBy(t *testing.T, dir string) bool {
	t.Helper()
	db, err := sql.Open("sqlite", "file:"+filepath.Join(dir, store.FileName)+"?mode=ro")
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	var n int
	if err := db.QueryRow("SELECT count(*) FROM programme").Scan(&n); err != nil {
		t.Fatal(err)
	}
	return n > 0
}

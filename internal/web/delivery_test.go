package web

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/units"
)

// TestDeliveryBehindItsChecks: page and JSON refuse to move the first eggs
// behind a check, with one delivery and with two; what they allow, the check of
// the logbook calls sound, and names the odd entries with their address.
func TestDeliveryBehindItsChecks(t *testing.T) {
	ts := newTestServer(t)
	b, api := ts.as(ts.coordinator), ts.program(ts.coordinator)
	check := logbook.Check{SeasonID: ts.one.ID, On: civil.MustParse("2026-01-21"), Slot: logbook.Morning,
		Temperature: units.Some[units.Celsius](7)}
	saved, err := ts.DB.SaveCheck(t.Context(), ts.coordinator, check, testNow, store.Write{})
	ts.must(err)
	move := func(d logbook.Delivery, on string) (form, json page) {
		t.Helper()
		path := "/deliveries/" + string(d.ID)
		f := b.get(path+"/correct").want(t, 200).hidden()
		for k, v := range fields("on", on, "count", fmt.Sprint(d.Count), "method", string(d.Method), "stage",
			string(d.Stage), "reason", "misread") {
			f[k] = v
		}
		form = b.post(path+"/correct", f)
		d, err := ts.DB.Delivery(t.Context(), d.ID)
		ts.must(err)
		etag := fmt.Sprintf("%q", fmt.Sprint(d.Revision))
		return form, api.with("If-Match", etag).send("PATCH", path, fmt.Sprintf(`{"on":%q,"reason":"misread"}`, on))
	}
	verified := func(warnings ...string) {
		t.Helper()
		rep, err := ts.DB.Verify(t.Context(), testNow)
		if err != nil || !rep.OK() {
			t.Errorf("problems %v, %v", rep.Problems, err)
		}
		text := ""
		for _, w := range rep.Warnings {
			text += ts.Cat.Printer("en", units.Cel).T(w.Key, w.Args) + "\n"
		}
		for _, w := range warnings {
			if !strings.Contains(text, w) {
				t.Errorf("no %q in %q", w, text)
			}
		}
		if len(warnings) == 0 && text != "" {
			t.Errorf("warnings %s", text)
		}
	}
	first := ts.load(ts.one).Deliveries[0]
	form, json := move(first, "2026-01-22")
	form.want(t, 422, "The eggs were there already")
	json.wantProblem(t, 422, "on", "delivery.after_check")

	second, err := ts.DB.CreateDelivery(t.Context(), ts.coordinator, logbook.Delivery{SeasonID: ts.one.ID,
		On: civil.MustParse("2026-01-22"), Count: 50,
		Method: logbook.ByHand}, testNow, store.Write{})
	ts.must(err)
	form, json = move(first, "2026-01-22")
	form.want(t, 422, "The eggs were there already")
	json.wantProblem(t, 422, "on", "delivery.after_check")
	form, json = move(second.Row, "2026-01-20") // now the other may move
	form.want(t, 303)
	json.want(t, 200)
	form, json = move(first, "2026-01-22")
	form.want(t, 303)
	json.want(t, 200)
	verified()

	void := func(id logbook.ID) {
		t.Helper()
		d, err := ts.DB.Delivery(t.Context(), id)
		ts.must(err)
		_, err = ts.DB.VoidDelivery(t.Context(), ts.coordinator, id, d.Revision, "wrong tank", testNow, nil)
		ts.must(err)
	}
	void(second.Row.ID)
	verified("Look at it: /checks/" + string(saved.Row.ID))
	// An odd check is no reason to refuse what makes nothing worse.
	_, json = move(first, "2026-01-21")
	json.want(t, 200)
	void(first.ID)
	verified("has 1 entry and no delivery. Look at it: /seasons/" + string(ts.one.ID))
}

// TestBackupsAfterAClockJumped: a backup of a year ahead and one without its
// manifest stop neither the daily backup nor the flag, and are named.
func TestBackupsAfterAClockJumped(t *testing.T) {
	ts := newTestServer(t)
	b, dir := ts.as(ts.coordinator), ts.BackupDir()
	daily := func() (made bool) {
		t.Helper()
		count := func() int {
			files, err := filepath.Glob(filepath.Join(dir, "*.db"))
			ts.must(err)
			return len(files)
		}
		before := count()
		ts.must(ts.dailyBackup(t.Context()))
		return count() > before
	}
	ts.at(testNow.AddDate(1, 0, 0))
	if !daily() {
		t.Fatal("no backup")
	}
	ts.at(testNow)
	b.get("/board").want(t, 200, "clock of the computer jumped", "reddside-2027")
	if !daily() || daily() {
		t.Error("a day needs one backup")
	}
	ts.at(testNow.AddDate(0, 0, 1))
	if !daily() {
		t.Error("no backup the day after")
	}
	last := filepath.Join(dir, "reddside-"+testNow.AddDate(0, 0, 1).UTC().Format("20060102T150405Z")+".db")
	ts.must(os.Remove(last + ".json"))
	b.get("/board").want(t, 200, "do not count", filepath.Base(last)).lacks(t, "The newest backup is")
	ts.at(testNow.AddDate(0, 0, 1).Add(time.Minute))
	if !daily() {
		t.Error("no backup beside one without its manifest")
	}
	ts.at(testNow.AddDate(0, 0, 5).Add(time.Hour))
	b.get("/board").want(t, 200, "The newest backup is 4 days old")
}

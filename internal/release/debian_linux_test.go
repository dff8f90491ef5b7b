package main

import (
	"bufio"
	"bytes"
	"io"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"strconv"
	"strings"
	"testing"
	"time"
)

// root is this machine's files in a copy-on-write view of their own: what a
// package does there is gone with the test.
type root struct {
	t    *testing.T
	pid  string // holds the mounts
	path string
}

func newRoot(t *testing.T) *root {
	t.Helper()
	dir := t.TempDir()
	hold := exec.Command("unshare", "--mount", "--propagation", "private", "sh", "-c", `set -e
		mount -t tmpfs tmpfs "$0"; mkdir "$0/up" "$0/work" "$0/root"
		mount -t overlay overlay -o lowerdir=/,upperdir="$0/up",workdir="$0/work" "$0/root"
		mount -t proc proc "$0/root/proc"; mount --rbind /dev "$0/root/dev"; mount -t tmpfs tmpfs "$0/root/tmp"
		echo ready; exec sleep 600`, dir)
	out, err := hold.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	var said bytes.Buffer
	hold.Stderr = &said
	if err := hold.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = hold.Process.Kill(); _ = hold.Wait() })
	if line, _ := bufio.NewReader(out).ReadString('\n'); line != "ready\n" {
		_ = hold.Wait()
		t.Skip("no root of its own can be made here: " + said.String())
	}
	return &root{t, strconv.Itoa(hold.Process.Pid), filepath.Join(dir, "root")}
}

func (r *root) command(args ...string) *exec.Cmd {
	return exec.Command("nsenter", append([]string{"--target", r.pid, "--mount", "chroot", r.path}, args...)...)
}

func (r *root) run(args ...string) string {
	r.t.Helper()
	out, err := r.command(args...).CombinedOutput()
	if err != nil {
		r.t.Fatalf("%v: %v: %s", args, err, out)
	}
	return string(out)
}

// put copies a file of this machine into the root.
func (r *root) put(from, to string) {
	r.t.Helper()
	f, err := os.Open(from)
	if err != nil {
		r.t.Fatal(err)
	}
	defer f.Close()
	c := r.command("sh", "-c", "cat > "+to)
	c.Stdin = f
	if out, err := c.CombinedOutput(); err != nil {
		r.t.Fatalf("copy %s: %v: %s", from, err, out)
	}
}

// serve starts the installed server as its own user and returns its address and
// the code of a first start.
func (r *root) serve() (base, code string, stop func()) {
	r.t.Helper()
	c := r.command("setpriv", "--reuid", "reddside", "--regid", "reddside", "--clear-groups", "/usr/bin/reddside",
		"serve", "-data", "/var/lib/reddside", "-addr", "127.0.0.1:18473")
	out, err := c.StdoutPipe()
	if err != nil {
		r.t.Fatal(err)
	}
	var said bytes.Buffer
	c.Stderr = &said
	began := time.Now()
	if err := c.Start(); err != nil {
		r.t.Fatal(err)
	}
	line, _ := bufio.NewReader(out).ReadString('\n')
	base, ok := strings.CutPrefix(strings.TrimSpace(line), "listening on ")
	if !ok {
		_ = c.Process.Kill()
		_ = c.Wait()
		r.t.Fatalf("the server said %q and %s", line, said.String())
	}
	r.t.Logf("listening %v after the start", time.Since(began).Round(time.Millisecond))
	return base, regexp.MustCompile(`[A-Z0-9]{4}-[A-Z0-9]{4}`).FindString(said.String()),
		func() { _ = c.Process.Signal(os.Interrupt); _ = c.Wait() }
}

// size is that of a file, in bytes.
func (r *root) size(path string) int {
	r.t.Helper()
	n, err := strconv.Atoi(strings.TrimSpace(r.run("stat", "-c", "%s", path)))
	if err != nil {
		r.t.Fatal(err)
	}
	return n
}

// person walks through pages as a browser does.
type person struct {
	t    *testing.T
	base string
	http *http.Client
}

func newPerson(t *testing.T, base string) *person {
	jar, err := cookiejar.New(nil)
	if err != nil {
		t.Fatal(err)
	}
	return &person{t, base, &http.Client{Jar: jar}}
}

// send posts pairs of field and value, and returns the page that follows and its
// path.
func (p *person) send(path string, pairs ...string) (text, at string) {
	p.t.Helper()
	form := url.Values{}
	for i := 0; i < len(pairs); i += 2 {
		form.Set(pairs[i], pairs[i+1])
	}
	req, err := http.NewRequest(http.MethodPost, p.base+path, strings.NewReader(form.Encode()))
	if err != nil {
		p.t.Fatal(err)
	}
	req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	req.Header.Set("Origin", p.base)
	resp, err := p.http.Do(req)
	if err != nil {
		p.t.Fatal(err)
	}
	defer resp.Body.Close()
	b, _ := io.ReadAll(resp.Body)
	if resp.StatusCode != http.StatusOK {
		p.t.Fatalf("%s: %d: %s", path, resp.StatusCode, b)
	}
	return string(b), resp.Request.URL.Path
}

func (p *person) get(path string) string {
	p.t.Helper()
	resp, err := p.http.Get(p.base + path)
	if err != nil {
		p.t.Fatal(err)
	}
	defer resp.Body.Close()
	b, _ := io.ReadAll(resp.Body)
	return string(b)
}

// buildPackage builds the Debian package of a folder of the project.
func buildPackage(t *testing.T, project, version string) string {
	t.Helper()
	out := t.TempDir()
	c := exec.Command("go", "run", "./internal/release", "-o", out, "-only", "linux/"+runtime.GOARCH, "-version", version)
	c.Dir = project
	if text, err := c.CombinedOutput(); err != nil {
		t.Fatalf("release of %s: %v: %s", project, err, text)
	}
	list, _ := filepath.Glob(filepath.Join(out, "*.deb"))
	if len(list) != 1 {
		t.Fatalf("packages: %v", list)
	}
	return list[0]
}

// commitBefore is a clone of the project as it was one commit ago, or the project
// itself where that could not make a package yet.
func commitBefore(t *testing.T, top string) string {
	t.Helper()
	before := filepath.Join(t.TempDir(), "before")
	for _, args := range [][]string{{"clone", "--quiet", top, before}, {"-C", before, "checkout", "--quiet", "HEAD^"}} {
		if out, err := exec.Command("git", args...).CombinedOutput(); err != nil {
			t.Logf("there is no commit before: %s", out)
			return top
		}
	}
	if _, err := os.Stat(filepath.Join(before, "internal", "release")); err != nil {
		return top
	}
	return before
}

// The package of the commit before is installed and takes a check; that of this
// commit goes over it, and the check is there; it is removed, and the logbook
// stays. REDDSIDE_DEB=required does it, as root on Debian.
func TestDebianPackage(t *testing.T) {
	if os.Getenv("REDDSIDE_DEB") != "required" {
		t.Skip("REDDSIDE_DEB=required installs the package in a root of its own; it needs root, Debian and minutes")
	}
	top, err := filepath.Abs("../..")
	if err != nil {
		t.Fatal(err)
	}
	r := newRoot(t)
	r.put(buildPackage(t, commitBefore(t, top), "1.0.0"), "/tmp/old.deb")
	r.put(buildPackage(t, top, "2.0.0"), "/tmp/new.deb")

	r.run("dpkg", "--install", "/tmp/old.deb")
	if got := strings.TrimSpace(r.run("stat", "-c", "%U %G %a", "/var/lib/reddside")); got != "reddside reddside 700" {
		t.Errorf("the folder of the logbook is of %s", got)
	}
	began := time.Now()
	base, code, stop := r.serve()
	p := newPerson(t, base)
	today := time.Now().UTC().AddDate(0, 0, -1).Format(time.DateOnly)
	if p.get("/setup"); time.Since(began) > time.Second {
		t.Errorf("from the start to the first page of a first start it took %v, wanted a second", time.Since(began))
	}
	if mb := r.size("/usr/bin/reddside") / 1_000_000; mb > 45 {
		t.Errorf("the program has %d MB, wanted 45 at most", mb)
	}
	p.send("/setup/code", "setup_code", code)
	p.send("/setup/programme", "name", "Fry for the Testing Brook", "language", "en", "temperature_unit", "Cel",
		"passphrase", "seven invented salmon", "again", "seven invented salmon")
	p.send("/setup/site", "name", "Willow Bend School", "zone", "UTC", "language", "en", "temperature_unit", "Cel")
	p.send("/setup/tank", "name", "Room 7", "volume_l", "190", "volume_unit", "L", "wall", "insulated", "has_chiller", "yes",
		"setpoint", "7.5")
	p.send("/setup/lot", "code", "T-1", "species", "atlantic_salmon")
	_, at := p.send("/setup/delivery", "on", today, "count", "180", "method", "by_hand", "stage", "eyed_egg")
	season := regexp.MustCompile(`^/seasons/[a-z0-9]{26}`).FindString(at)
	if season == "" {
		t.Fatalf("the set-up ends at %s", at)
	}
	p.send(season+"/checks", "on", today, "slot", "morning", "temperature", "7.3", "chiller", "running", "key",
		"abcdefghijklmnopqrstuvwxyz")
	stop()

	r.run("dpkg", "--install", "/tmp/new.deb")
	if said := r.run("/usr/bin/reddside", "version"); !strings.HasPrefix(said, "reddside 2.0.0 ") {
		t.Errorf("after the upgrade it is %s", said)
	}
	_, code, stop = r.serve()
	if log := p.get(season + "/log"); !strings.Contains(log, "7.3") || code != "" {
		t.Errorf("after the upgrade the log is %s", log)
	}
	if health := p.get("/healthz"); !strings.Contains(health, "ok") {
		t.Errorf("health: %s", health)
	}
	stop()

	if _, err := exec.LookPath("systemd-analyze"); err == nil {
		if out, err := r.command("systemd-analyze", "verify", "/usr/lib/systemd/system/reddside.service").CombinedOutput(); err != nil ||
			bytes.Contains(out, []byte("reddside.service")) {
			t.Errorf("systemd-analyze: %v: %s", err, out)
		}
	}
	r.run("dpkg", "--purge", "reddside")
	if out, err := r.command("test", "-e", "/usr/bin/reddside").CombinedOutput(); err == nil {
		t.Errorf("the program stays: %s", out)
	}
	if size := r.size("/var/lib/reddside/reddside.db"); size < 50_000 {
		t.Errorf("the logbook has %d bytes after the package is gone", size)
	}
}

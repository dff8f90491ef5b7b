package main

import (
	"bytes"
	"context"
	"errors"
	"io"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"runtime/debug"
	"strings"
	"testing"
	"time"

	"reddside/internal/store"
)

// The folders are those of the systems' own documents: Known Folders of Windows,
// the file system guide of macOS, the XDG Base Directory Specification 0.8.
func TestUserDataFollowsTheSystem(t *testing.T) {
	home := string(filepath.Separator) + filepath.Join("home", "k")
	local := filepath.Join(home, "AppData", "Local")
	for _, x := range []struct{ goos, name, value, want string }{
		{"windows", "LOCALAPPDATA", local, filepath.Join(local, "Reddside")},
		{"windows", "", "", filepath.Join(local, "Reddside")},
		{"darwin", "XDG_DATA_HOME", "/elsewhere", filepath.Join(home, "Library", "Application Support", "Reddside")},
		{"linux", "", "", filepath.Join(home, ".local", "share", "reddside")},
		{"linux", "XDG_DATA_HOME", "/elsewhere", filepath.Join("/elsewhere", "reddside")},
		{"linux", "XDG_DATA_HOME", "relative", filepath.Join(home, ".local", "share", "reddside")},
	} {
		got := userData(x.goos, home, func(name string) string {
			if name == x.name {
				return x.value
			}
			return ""
		})
		if got != x.want {
			t.Errorf("%s with %s=%q: %s, want %s", x.goos, x.name, x.value, got, x.want)
		}
	}
}

// A logbook that a version before began in the working directory stays in use;
// a new one never begins there.
func TestNewLogbookIsNotInTheWorkingDirectory(t *testing.T) {
	t.Setenv("REDDSIDE_DATA", "")
	t.Chdir(t.TempDir())
	if got := defaultData(); !filepath.IsAbs(got) {
		t.Errorf("a new logbook would begin in %q", got)
	}
	if err := os.Mkdir("reddside-data", 0o700); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join("reddside-data", store.FileName), nil, 0o600); err != nil {
		t.Fatal(err)
	}
	if got := defaultData(); got != "reddside-data" {
		t.Errorf("the logbook that is there is left for %q", got)
	}
}

// desktop starts the program as a double click does, without the browser, and
// returns its address, what it said, and what ends it.
func desktop(t *testing.T, dir string) (url string, said *bytes.Buffer, end func()) {
	t.Helper()
	ctx, cancel := context.WithCancel(t.Context())
	r, w := io.Pipe()
	said = new(bytes.Buffer)
	done := make(chan error, 1)
	go func() { done <- run(ctx, []string{"-open=false", "-data", dir}, w, said) }()
	line := make([]byte, 200)
	n, err := r.Read(line)
	if err != nil {
		t.Fatal(err)
	}
	url, _ = strings.CutPrefix(strings.TrimSpace(string(line[:n])), "listening on ")
	return url, said, func() {
		cancel()
		select {
		case err := <-done:
			if err != nil {
				t.Error(err)
			}
		case <-time.After(20 * time.Second):
			t.Error("it does not stop")
		}
	}
}

// A second start finds the first and opens its page; the address is the same
// after a stop, and another one when some program has taken it.
func TestDesktopRunsOnce(t *testing.T) {
	dir := t.TempDir()
	url, said, end := desktop(t, dir)
	var shown []string
	before, wait := show, showing
	show, showing = func(u string, _ io.Writer) { shown = append(shown, u) }, 0
	t.Cleanup(func() { show, showing = before, wait })

	var out bytes.Buffer
	if err := run(t.Context(), []string{"-open", "-data", dir}, &out, io.Discard); err != nil {
		t.Fatal(err)
	}
	if len(shown) != 1 || shown[0] != url || !strings.Contains(out.String(), url) {
		t.Errorf("the second start opened %q and said %q; the first is at %s", shown, out.String(), url)
	}
	if resp, err := http.Get(url + "/healthz"); err != nil || resp.StatusCode != http.StatusOK {
		t.Errorf("the first does not go on: %v %v", resp, err)
	}
	end()
	if !strings.Contains(said.String(), dir) {
		t.Errorf("it does not say where the logbook lies: %q", said.String())
	}
	if _, err := os.Stat(filepath.Join(dir, runningName)); err == nil {
		t.Error("a stopped program is still noted as running")
	}

	again, _, end := desktop(t, dir)
	end()
	if again != url {
		t.Errorf("at %s, before at %s", again, url)
	}
	other, err := net.Listen("tcp", strings.TrimPrefix(url, "http://"))
	if err != nil {
		t.Fatal(err)
	}
	defer other.Close()
	moved, _, end := desktop(t, dir)
	end()
	if moved == url {
		t.Error("two programs at one address")
	}
}

// What a killed program left behind keeps nobody from starting: the system gives its
// lock back. Nor does it lead to another computer.
func TestKilledProgramIsNoFirstStart(t *testing.T) {
	dir := t.TempDir()
	for name, text := range map[string]string{runningName: "http://198.51.100.7:80", lockName: ""} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	own, url, err := claim(dir)
	if err != nil || own == nil {
		t.Fatalf("the start after a kill finds %q, %v", url, err)
	}
	if again, url, err := claim(dir); again != nil || url != own.url() || err != nil {
		t.Errorf("a second start gets %v, %q, %v; the first is at %s", again, url, err, own.url())
	}
	if err := errors.Join(own.door.End(), own.lock.Close()); err != nil {
		t.Error(err)
	}
}

func TestOpenPicksTheAddress(t *testing.T) {
	err := run(t.Context(), []string{"-open", "-addr", "127.0.0.1:0"}, io.Discard, io.Discard)
	if _, ok := err.(usageError); !ok {
		t.Errorf("-open with -addr: %v", err)
	}
}

func TestVersionNamesTheBuild(t *testing.T) {
	built := &debug.BuildInfo{Settings: []debug.BuildSetting{{Key: "vcs.revision", Value: "0123456789abcdef0123"},
		{Key: "vcs.time", Value: "2026-11-30T07:00:00Z"}, {Key: "vcs.modified", Value: "true"}}}
	for want, got := range map[string]string{
		"1.4.0":   versionOf("1.4.0", built),
		"unknown": versionOf("", nil),
		"0123456789ab of 2026-11-30T07:00:00Z, changed": versionOf("", built),
	} {
		if got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
	var out bytes.Buffer
	if err := run(t.Context(), []string{"version"}, &out, io.Discard); err != nil ||
		!strings.HasPrefix(out.String(), "reddside ") {
		t.Errorf("%q, %v", out.String(), err)
	}
}

// The demonstration says where its folder is, and a token can be made there.
func TestDemonstrationCanBeFound(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	r, w := io.Pipe()
	said := new(bytes.Buffer)
	done := make(chan error, 1)
	go func() { done <- run(ctx, []string{"-demo", "-addr", "127.0.0.1:0"}, w, said) }()
	if _, err := r.Read(make([]byte, 200)); err != nil {
		t.Fatal(err)
	}
	_, rest, ok := strings.Cut(said.String(), "server token -data ")
	dir, _, _ := strings.Cut(rest, " ")
	if !ok {
		t.Fatalf("it says only %q", said.String())
	}
	var out bytes.Buffer
	if err := run(t.Context(), []string{"token", "-data", dir, "-role", "coordinator"}, &out, io.Discard); err != nil ||
		out.Len() == 0 {
		t.Errorf("no token: %q, %v", out.String(), err)
	}
	cancel()
	if err := <-done; err != nil {
		t.Error(err)
	}
}

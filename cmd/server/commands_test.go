package main

import (
	"bufio"
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"syscall"
	"testing"
)

// built builds the program as a person would.
func built(t *testing.T) string {
	t.Helper()
	program := filepath.Join(t.TempDir(), "server.exe")
	if out, err := exec.Command("go", "build", "-o", program, "reddside/cmd/server").CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	return program
}

// inFolder runs the program in a working directory and returns what it printed.
func inFolder(t *testing.T, program, dir string, args ...string) (string, error) {
	t.Helper()
	c := exec.Command(program, args...)
	c.Dir = dir
	c.Env = append(os.Environ(), "REDDSIDE_DATA=")
	out, err := c.CombinedOutput()
	return string(out), err
}

// servedFrom serves until the address is printed, then stops as on control-C.
func servedFrom(t *testing.T, program, dir string, args ...string) error {
	t.Helper()
	c := exec.Command(program, args...)
	c.Dir = dir
	c.Env = append(os.Environ(), "REDDSIDE_DATA=")
	var errOut bytes.Buffer
	c.Stderr = &errOut
	out, err := c.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := c.Start(); err != nil {
		t.Fatal(err)
	}
	line, _ := bufio.NewReader(out).ReadString('\n')
	if strings.HasPrefix(line, "listening on http://127.0.0.1:") {
		_ = c.Process.Signal(syscall.SIGTERM)
	} else {
		t.Errorf("%v printed %q, %s", args, line, errOut.String())
		_ = c.Process.Kill()
	}
	return c.Wait()
}

// TestCommandsFromAWorkingDirectory runs every subcommand of the README with
// relative paths, and with the folder it takes when none is named.
func TestCommandsFromAWorkingDirectory(t *testing.T) {
	if testing.Short() {
		t.Skip("builds the program")
	}
	program, ran := built(t), map[string]bool{}
	stored, season := importData(t, "2026-01-05")
	dir := t.TempDir()
	if err := os.Rename(stored, filepath.Join(dir, "reddside-data")); err != nil {
		t.Fatal(err)
	}
	logger := "time,temperature\n2026-01-06 08:00,6.5\n2026-01-06 09:00,6.6\n"
	if err := os.WriteFile(filepath.Join(dir, "logger.csv"), []byte(logger), 0o600); err != nil {
		t.Fatal(err)
	}
	ok := func(want string, args ...string) string {
		t.Helper()
		ran[args[0]] = true
		out, err := inFolder(t, program, dir, args...)
		if err != nil || !strings.Contains(out, want) {
			t.Fatalf("%v: %v, printed %q, want %q", args, err, out, want)
		}
		return out
	}
	there := func(name string) {
		t.Helper()
		if _, err := os.Stat(filepath.Join(dir, name)); err != nil {
			t.Error(err)
		}
	}
	for _, data := range [][]string{nil, {"-data", "reddside-data"}, {"-data", filepath.Join(dir, "reddside-data")}} {
		with := func(args ...string) []string { return append(append(args[:1:1], data...), args[1:]...) }
		ran["serve"] = true
		for _, args := range [][]string{with("serve", "-addr", "127.0.0.1:0"), append([]string{"-addr", "127.0.0.1:0"},
			data...)} {
			if err := servedFrom(t, program, dir, args...); err != nil {
				t.Errorf("%v: %v", args, err)
			}
		}
		ok("Bearer", with("token", "-role", "coordinator")...)
		ok("stored now", with("import", "-season", string(season), "-answers", "unit=Cel,date_order=ymd",
			"logger.csv")...)
		ok("seasons", with("replay", "-season", string(season))...)
		ok("sound", with("verify")...)
		own := regexp.MustCompile(`wrote (\S+):`).FindStringSubmatch(ok("wrote", with("backup")...))[1]
		ok("wrote stick.db", with("backup", "-o", "stick.db")...)
		ok("wrote out.zip", with("export", "-o", "out.zip")...)
		ok("is kept as", with("restore", "-from", "stick.db")...)
		ok("restored", with("restore", "-from", own)...)
		ok("restored", "restore", "-data", "new", "-from", "stick.db")
		ok("1 seasons, 0 checks, 2 readings", "verify", "-data", "new")
		there("new/reddside.db")
		for _, f := range []string{own, own + ".json", "new", "stick.db", "stick.db.json", "out.zip"} {
			if !filepath.IsAbs(f) {
				f = filepath.Join(dir, f)
			}
			if err := os.RemoveAll(f); err != nil {
				t.Fatal(err)
			}
		}
	}
	ok("reddside ", "version")
	// It would change how this machine starts: service_test.go looks at what it says.
	ran["service"] = true
	readme, err := os.ReadFile(filepath.Join(root(t), "README.md"))
	if err != nil {
		t.Fatal(err)
	}
	var told []string
	for _, m := range regexp.MustCompile(`(?m)^server \[?(\w+)`).FindAllStringSubmatch(string(readme), -1) {
		told = append(told, m[1])
		if !ran[m[1]] {
			t.Errorf("the README has %s, which was not run", m[1])
		}
	}
	for _, c := range commands() {
		if !slices.Contains(told, c.name) {
			t.Errorf("the README lacks %s", c.name)
		}
	}
}

// TestCommandsMakeNoLogbook: only serve begins a logbook. The others say that
// there is none and leave nothing behind.
func TestCommandsMakeNoLogbook(t *testing.T) {
	file := filepath.Join(t.TempDir(), "logger.csv")
	if err := os.WriteFile(file, []byte("time,temperature\n2026-01-06 08:00,6.5\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, args := range [][]string{
		{"verify"}, {"backup"}, {"backup", "-o", filepath.Join(t.TempDir(), "x.db")}, {"token", "-role", "coordinator"},
		{"token", "-list"},
		{"replay"}, {"export", "-o", filepath.Join(t.TempDir(), "x.zip")}, {"import", "-season", "abc", file},
	} {
		above := t.TempDir()
		dir := filepath.Join(above, "nowhere")
		_, _, err := runCommand(t, append(args[:1:1], append([]string{"-data", dir}, args[1:]...)...)...)
		if err == nil || !strings.Contains(err.Error(), "There is no logbook in "+dir) {
			t.Errorf("%v: %v", args, err)
		}
		if left, _ := os.ReadDir(above); len(left) > 0 {
			t.Errorf("%v left %v", args, left)
		}
	}
}

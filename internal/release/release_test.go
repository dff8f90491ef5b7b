package main

import (
	"archive/zip"
	"bytes"
	"crypto/sha256"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

var commitAt = time.Date(2026, 2, 14, 8, 10, 0, 0, time.UTC)

// packAll packs a stand-in for the program for every system.
func packAll(t *testing.T, program []byte) (dir string, of map[string]target) {
	t.Helper()
	dir, of = t.TempDir(), map[string]target{}
	path := filepath.Join(t.TempDir(), "program")
	if err := os.WriteFile(path, program, 0o755); err != nil {
		t.Fatal(err)
	}
	for _, x := range targets {
		names, err := pack(x, "1.2.3", commitAt, path, []byte("licence"), dir)
		if err != nil {
			t.Fatal(err)
		}
		for _, name := range names {
			of[name] = x
		}
	}
	return dir, of
}

// The same program, version and commit give the same bytes, whenever it is packed.
func TestSameBytesTwice(t *testing.T) {
	program := bytes.Repeat([]byte("program "), 5000)
	first, of := packAll(t, program)
	time.Sleep(1100 * time.Millisecond) // archives keep seconds
	second, _ := packAll(t, program)
	if len(of) != len(targets)+3 {
		t.Errorf("%d files, want an archive for each of %d systems and three packages", len(of), len(targets))
	}
	for name := range of {
		a, errA := os.ReadFile(filepath.Join(first, name))
		b, errB := os.ReadFile(filepath.Join(second, name))
		if errA != nil || errB != nil || sha256.Sum256(a) != sha256.Sum256(b) {
			t.Errorf("%s differs the second time: %v, %v", name, errA, errB)
		}
	}
}

// Other programs read what is written: Debian's dpkg-deb, tar, and the zip reader.
func TestOthersReadThePackages(t *testing.T) {
	dir, of := packAll(t, []byte("#!/bin/sh\necho odd\n")) // of odd length
	for name, x := range of {
		path := filepath.Join(dir, name)
		switch filepath.Ext(name) {
		case ".deb":
			said := tool(t, "dpkg-deb", "--info", path) + tool(t, "dpkg-deb", "--contents", path)
			for _, want := range []string{"Package: reddside", "Version: 1.2.3", "Architecture: " + x.Deb, "postinst",
				"-rwxr-xr-x root/root        19 2026-02-14 08:10 ./usr/bin/reddside", "reddside.service"} {
				if said != "" && !strings.Contains(said, want) {
					t.Errorf("%s: dpkg-deb does not say %q:\n%s", name, want, said)
				}
			}
		case ".gz":
			if said := tool(t, "tar", "-tvzf", path); said != "" && !strings.Contains(said, "reddside/READ-ME-FIRST.txt") {
				t.Errorf("%s: tar lists %s", name, said)
			}
		case ".zip":
			z, err := zip.OpenReader(path)
			if err != nil {
				t.Fatal(err)
			}
			if f := z.File[0]; f.Name != "reddside/"+x.binary() || f.Mode().Perm() != 0o755 {
				t.Errorf("%s: first file %s, %v", name, f.Name, f.Mode())
			}
			_ = z.Close()
		}
	}
}

func tool(t *testing.T, name string, args ...string) string {
	t.Helper()
	if _, err := exec.LookPath(name); err != nil {
		t.Logf("%s is not installed: not tried", name)
		return ""
	}
	cmd := exec.Command(name, args...)
	cmd.Env = append(os.Environ(), "TZ=UTC")
	out, err := cmd.CombinedOutput()
	if err != nil {
		t.Fatalf("%s %v: %v: %s", name, args, err, out)
	}
	return string(out)
}

func TestDebVersions(t *testing.T) {
	for name, want := range map[string]string{"v1.2.3": "1.2.3", "1.2.3-4-gabc": "1.2.3+4+gabc",
		"0d51c99": "0~20260214.081000.0d51c99", "d912731-dirty": "0~20260214.081000.d912731+dirty"} {
		if got := debVersion(name, commitAt); got != want {
			t.Errorf("%s is %s, want %s", name, got, want)
		}
	}
}

func TestChoose(t *testing.T) {
	if list, err := choose("linux/arm,windows/arm64"); err != nil || len(list) != 2 || list[1].binary() != "reddside.exe" {
		t.Errorf("%v, %v", list, err)
	}
	if _, err := choose("plan9/amd64"); err == nil || !strings.Contains(err.Error(), "there is no such system") {
		t.Error(err)
	}
}

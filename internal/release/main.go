// Command release builds what people install: archives for Windows, macOS and
// Linux, Debian packages, a file for containers, checksums, and a list of what is
// inside. The same commit gives the same bytes.
//
//	go run ./internal/release -o DIR [-version NAME] [-only linux/amd64,...]
package main

import (
	"crypto/sha256"
	_ "embed"
	"flag"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"
)

func main() {
	out := flag.String("o", "", "folder to write to; made when missing")
	version := flag.String("version", "", "name of the release; the tag or commit when empty")
	only := flag.String("only", "", "systems to build, like linux/amd64,windows/arm64; all when empty")
	flag.Parse()
	if err := run(*out, *version, *only); err != nil {
		fmt.Fprintln(os.Stderr, "release:", err)
		os.Exit(1)
	}
}

// target is a system that is built for.
type target struct {
	OS, Arch string
	Deb      string // architecture of the Debian package, "" for none
}

// targets are the systems. arm is ARMv7, that of small boards.
var targets = []target{
	{"darwin", "amd64", ""}, {"darwin", "arm64", ""},
	{"linux", "amd64", "amd64"}, {"linux", "arm", "armhf"}, {"linux", "arm64", "arm64"},
	{"windows", "amd64", ""}, {"windows", "arm64", ""},
}

func (t target) String() string { return t.OS + "/" + t.Arch }

// binary is the name of the program.
func (t target) binary() string {
	if t.OS == "windows" {
		return "reddside.exe"
	}
	return "reddside"
}

// Files that go beside the program.
var (
	//go:embed files/READ-ME-FIRST.txt
	readMeFirst []byte
	//go:embed files/Containerfile
	containerfile []byte
)

func run(out, version, only string) error {
	if out == "" {
		return fmt.Errorf("-o DIR is missing: where to write")
	}
	chosen, err := choose(only)
	if err != nil {
		return err
	}
	at, err := commitTime()
	if err != nil {
		return err
	}
	if version == "" {
		if version, err = git("describe", "--tags", "--always", "--dirty"); err != nil {
			return err
		}
	}
	licence, err := os.ReadFile("LICENSE")
	if err != nil {
		return fmt.Errorf("run it in the top folder of the project: %w", err)
	}
	if err := os.MkdirAll(out, 0o755); err != nil {
		return err
	}
	work, err := os.MkdirTemp("", "reddside-release-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(work)
	program := func(t target) string { return filepath.Join(work, t.OS+"-"+t.Arch, t.binary()) }
	var written []string
	for _, t := range chosen {
		began := time.Now()
		if err := build(t, version, program(t)); err != nil {
			return fmt.Errorf("build %s: %w", t, err)
		}
		names, err := pack(t, version, at, program(t), licence, out)
		if err != nil {
			return fmt.Errorf("pack %s: %w", t, err)
		}
		written = append(written, names...)
		fmt.Printf("%s: %s in %s\n", t, strings.Join(names, ", "), time.Since(began).Round(time.Second))
	}
	if err := writeBill(filepath.Join(out, "sbom.cdx.json"), program(chosen[0]), version, at); err != nil {
		return err
	}
	if err := os.WriteFile(filepath.Join(out, "Containerfile"), containerfile, 0o644); err != nil {
		return err
	}
	return writeSums(out, append(written, "Containerfile", "sbom.cdx.json"))
}

func choose(only string) ([]target, error) {
	if only == "" {
		return targets, nil
	}
	var out []target
	for _, name := range strings.Split(only, ",") {
		i := slices.IndexFunc(targets, func(t target) bool { return t.String() == name })
		if i < 0 {
			return nil, fmt.Errorf("-only %q: there is no such system; there are %v", name, targets)
		}
		out = append(out, targets[i])
	}
	return out, nil
}

func git(args ...string) (string, error) {
	b, err := exec.Command("git", args...).Output()
	if err != nil {
		return "", fmt.Errorf("git %s: %w", strings.Join(args, " "), err)
	}
	return strings.TrimSpace(string(b)), nil
}

// commitTime dates every file of a release, so that nothing depends on when it was
// made.
func commitTime() (time.Time, error) {
	text, err := git("log", "-1", "--format=%ct")
	if err != nil {
		return time.Time{}, err
	}
	n, err := strconv.ParseInt(text, 10, 64)
	return time.Unix(n, 0).UTC(), err
}

// build compiles the program without paths of this machine.
func build(t target, version, to string) error {
	cmd := exec.Command("go", "build", "-trimpath", "-buildvcs=false", "-ldflags", "-s -w -X main.release="+version,
		"-o", to, "./cmd/server")
	cmd.Env = append(os.Environ(), "CGO_ENABLED=0", "GOOS="+t.OS, "GOARCH="+t.Arch, "GOARM=7")
	cmd.Stderr = os.Stderr
	return cmd.Run()
}

// pack writes the archive of a target and, where there is one, its Debian package,
// and returns their names.
func pack(t target, version string, at time.Time, program string, licence []byte, out string) ([]string, error) {
	code, err := os.ReadFile(program)
	if err != nil {
		return nil, err
	}
	files := []packed{{t.binary(), 0o755, code}, {"LICENSE", 0o644, licence}, {"READ-ME-FIRST.txt", 0o644, readMeFirst}}
	// What Windows and macOS open with a double click, and what keeps modes on Linux.
	name, write := fmt.Sprintf("reddside-%s-%s-%s.zip", version, t.OS, t.Arch), zipped
	if t.OS == "linux" {
		name, write = strings.TrimSuffix(name, ".zip")+".tar.gz", tarGz
	}
	if err := save(filepath.Join(out, name), func(w io.Writer) error { return write(w, "reddside", files, at) }); err != nil {
		return nil, err
	}
	if t.Deb == "" {
		return []string{name}, nil
	}
	deb := fmt.Sprintf("reddside_%s_%s.deb", debVersion(version, at), t.Deb)
	err = save(filepath.Join(out, deb), func(w io.Writer) error { return debian(w, t.Deb, version, at, code, licence) })
	return []string{name, deb}, err
}

func save(path string, write func(io.Writer) error) error {
	f, err := os.Create(path)
	if err != nil {
		return err
	}
	if err := write(f); err != nil {
		_ = f.Close()
		return err
	}
	return f.Close()
}

// writeSums writes SHA256SUMS, as sha256sum -c reads it.
func writeSums(out string, names []string) error {
	slices.Sort(names)
	var b strings.Builder
	for _, name := range names {
		data, err := os.ReadFile(filepath.Join(out, name))
		if err != nil {
			return err
		}
		fmt.Fprintf(&b, "%x  %s\n", sha256.Sum256(data), name)
	}
	return os.WriteFile(filepath.Join(out, "SHA256SUMS"), []byte(b.String()), 0o644)
}

package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"log/slog"
	"net"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"time"

	"github.com/cli/browser"

	"reddside/internal/store"
)

// Files of a start on a desktop, in the data folder: the address that stays the
// same, that of the program that runs now, and the lock that program holds.
const (
	addressName = "address"
	runningName = "running"
	lockName    = "lock"
)

// firstAddress is tried when there is none from a start before.
const firstAddress = "127.0.0.1:8080"

// defaultData is the folder of the logbook when no flag names one: that of
// REDDSIDE_DATA; else reddside-data here, where a version before kept it, when
// there is a logbook in it; else the user's own folder.
func defaultData() string {
	if dir := os.Getenv("REDDSIDE_DATA"); dir != "" {
		return dir
	}
	const before = "reddside-data"
	if _, err := os.Stat(filepath.Join(before, store.FileName)); err == nil {
		return before
	}
	home, err := os.UserHomeDir()
	if err != nil {
		return before // a service without a home
	}
	return userData(runtime.GOOS, home, os.Getenv)
}

// userData is the user's folder for the data of programs by the convention of
// the system: Known Folders, the library of macOS, XDG Base Directory elsewhere.
func userData(goos, home string, env func(string) string) string {
	switch goos {
	case "windows":
		if dir := env("LOCALAPPDATA"); dir != "" {
			return filepath.Join(dir, "Reddside")
		}
		return filepath.Join(home, "AppData", "Local", "Reddside")
	case "darwin":
		return filepath.Join(home, "Library", "Application Support", "Reddside")
	}
	if dir := env("XDG_DATA_HOME"); filepath.IsAbs(dir) { // a relative one is to be ignored
		return filepath.Join(dir, "reddside")
	}
	return filepath.Join(home, ".local", "share", "reddside")
}

// hasScreen reports whether a browser can be shown here.
func hasScreen() bool {
	switch runtime.GOOS {
	case "windows", "darwin":
		return true
	}
	return os.Getenv("DISPLAY") != "" || os.Getenv("WAYLAND_DISPLAY") != ""
}

// show opens a page in the browser; tests replace it.
var show = func(url string, errOut io.Writer) {
	go func() {
		browser.Stdout, browser.Stderr = io.Discard, io.Discard
		if err := browser.OpenURL(url); err != nil {
			fmt.Fprintf(errOut, "no browser could be opened; open %s yourself\n", url)
		}
	}()
}

// ownInstance is the one program that serves a folder, by a lock that the system
// takes back however the program ends.
type ownInstance struct {
	door *door
	lock io.Closer
}

func (i *ownInstance) url() string {
	_, port, _ := net.SplitHostPort(i.door.Addr().String())
	return "http://" + net.JoinHostPort(hostHere, port)
}

// serveDesktop serves the logbook of a person's own computer. When a program
// serves the folder already, its page is opened instead.
func serveDesktop(ctx context.Context, o serveOptions, log *slog.Logger, out, errOut io.Writer) error {
	if err := os.MkdirAll(o.data, 0o700); err != nil {
		return fmt.Errorf("make the folder of the logbook: %w", err)
	}
	own, url, err := claim(o.data)
	if err != nil {
		return err
	}
	if own == nil {
		fmt.Fprintf(out, "Reddside runs already at %s\n", url)
		if o.open {
			show(url, errOut)
			time.Sleep(showing)
		}
		return nil
	}
	defer func() {
		_ = os.Remove(filepath.Join(o.data, runningName))
		_ = errors.Join(own.door.End(), own.lock.Close())
	}()
	fmt.Fprintf(errOut, "the logbook lies in %s; to stop, press Ctrl and C here or close this window\n", o.data)
	o.own, o.addr = own, own.door.Addr().String()
	return serveLogbook(ctx, o, log, out, errOut)
}

// showing is how long a second start waits for the browser to come up.
var showing = time.Second

// claim takes a folder and its address, or returns the address of the program
// that has it.
func claim(dir string) (own *ownInstance, url string, err error) {
	lock, err := lockFile(filepath.Join(dir, lockName))
	if errors.Is(err, errLocked) {
		return nil, running(dir), nil
	}
	if err != nil {
		return nil, "", fmt.Errorf("take the folder of the logbook: %w", err)
	}
	defer func() {
		if err != nil {
			_ = lock.Close()
		}
	}()
	addr := firstAddress
	b, err := os.ReadFile(filepath.Join(dir, addressName))
	switch {
	case err == nil && validAddress(strings.TrimSpace(string(b))):
		addr = strings.TrimSpace(string(b))
	case err != nil && !errors.Is(err, fs.ErrNotExist):
		return nil, "", err
	}
	_, port, err := net.SplitHostPort(addr)
	if err != nil {
		return nil, "", err
	}
	host := hostFor(openToTablets(dir))
	d, err := newDoor(net.JoinHostPort(host, port))
	if err != nil { // another program has it
		if d, err = newDoor(net.JoinHostPort(host, "0")); err != nil {
			return nil, "", fmt.Errorf("listen: %w", err)
		}
	}
	own = &ownInstance{door: d, lock: lock}
	here := strings.TrimPrefix(own.url(), "http://")
	err = errors.Join(os.WriteFile(filepath.Join(dir, addressName), []byte(here+"\n"), 0o600),
		os.WriteFile(filepath.Join(dir, runningName), []byte(own.url()+"\n"), 0o600))
	if err != nil {
		return nil, "", errors.Join(err, d.End())
	}
	return own, "", nil
}

// errLocked says that another program serves the folder.
var errLocked = errors.New("locked")

// validAddress reports whether a remembered address is one of this computer alone.
func validAddress(addr string) bool {
	a, err := net.ResolveTCPAddr("tcp", addr)
	return err == nil && a.IP.IsLoopback() && a.Port > 0
}

// running returns the address of the program that has the folder's lock; it may be
// about to write it.
func running(dir string) string {
	for range 50 {
		b, err := os.ReadFile(filepath.Join(dir, runningName))
		if url := strings.TrimSpace(string(b)); err == nil && validAddress(strings.TrimPrefix(url, "http://")) {
			return url
		}
		time.Sleep(100 * time.Millisecond)
	}
	return "http://" + firstAddress
}

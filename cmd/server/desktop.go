package main

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"log/slog"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"time"

	"github.com/cli/browser"

	"reddside/internal/store"
)

// Files of a start on a desktop, in the data folder: the address that stays the
// same, and that of the program that runs now with the secret that proves it.
const (
	addressName = "address"
	runningName = "running"
)

// firstAddress is tried when there is none from a start before.
const firstAddress = "127.0.0.1:8080"

// instanceHeader of /healthz says which program answers.
const instanceHeader = "Reddside-Instance"

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

// ownInstance is the one program that serves a folder.
type ownInstance struct {
	ln     net.Listener
	secret string
}

func (i *ownInstance) url() string { return "http://" + i.ln.Addr().String() }

// listener is where o listens, and what answers there.
func (o serveOptions) listener(srv http.Handler) (net.Listener, http.Handler, error) {
	if o.own == nil {
		ln, err := net.Listen("tcp", o.addr)
		return ln, srv, err
	}
	return o.own.ln, http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.URL.Path == "/healthz" {
			w.Header().Set(instanceHeader, o.own.secret)
		}
		srv.ServeHTTP(w, r)
	}), nil
}

// serveDesktop serves the logbook of a person's own computer. When a program
// serves the folder already, its page is opened instead.
func serveDesktop(ctx context.Context, o serveOptions, log *slog.Logger, out, errOut io.Writer) error {
	if err := os.MkdirAll(o.data, 0o700); err != nil {
		return fmt.Errorf("make the folder of the logbook: %w", err)
	}
	own, url, err := claim(ctx, o.data)
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
		_ = own.ln.Close()
		_ = os.Remove(filepath.Join(o.data, runningName))
	}()
	fmt.Fprintf(errOut, "the logbook lies in %s; to stop, press Ctrl and C here or close this window\n", o.data)
	o.own, o.addr = own, own.ln.Addr().String()
	return serveLogbook(ctx, o, log, out, errOut)
}

// showing is how long a second start waits for the browser to come up.
var showing = time.Second

// claim takes the address of a folder, or returns that of the program that has
// it. The address is taken before anything else, so that of two starts in the
// same moment one finds the other.
func claim(ctx context.Context, dir string) (*ownInstance, string, error) {
	if url := running(ctx, dir); url != "" {
		return nil, url, nil
	}
	addr := firstAddress
	b, err := os.ReadFile(filepath.Join(dir, addressName))
	switch {
	case err == nil && validAddress(strings.TrimSpace(string(b))):
		addr = strings.TrimSpace(string(b))
	case err != nil && !errors.Is(err, fs.ErrNotExist):
		return nil, "", err
	}
	ln, err := net.Listen("tcp", addr)
	if err != nil {
		time.Sleep(200 * time.Millisecond) // the other start is about to write where it is
		if url := running(ctx, dir); url != "" {
			return nil, url, nil
		}
		if ln, err = net.Listen("tcp", "127.0.0.1:0"); err != nil { // another program has it
			return nil, "", fmt.Errorf("listen: %w", err)
		}
	}
	own := &ownInstance{ln: ln, secret: rand.Text()}
	err = errors.Join(
		os.WriteFile(filepath.Join(dir, addressName), []byte(ln.Addr().String()+"\n"), 0o600),
		os.WriteFile(filepath.Join(dir, runningName), []byte(own.url()+" "+own.secret+"\n"), 0o600))
	if err != nil {
		return nil, "", errors.Join(err, ln.Close())
	}
	return own, "", nil
}

// validAddress reports whether a remembered address is one of this computer alone.
func validAddress(addr string) bool {
	a, err := net.ResolveTCPAddr("tcp", addr)
	return err == nil && a.IP.IsLoopback() && a.Port > 0
}

// running returns the address of the program that serves a folder now, or "".
// What a killed program left behind is told from a running one by asking.
func running(ctx context.Context, dir string) string {
	b, err := os.ReadFile(filepath.Join(dir, runningName))
	if err != nil {
		return ""
	}
	url, secret, _ := strings.Cut(strings.TrimSpace(string(b)), " ")
	if !validAddress(strings.TrimPrefix(url, "http://")) || secret == "" {
		return ""
	}
	ctx, cancel := context.WithTimeout(ctx, 10*time.Second) // a migration may be under way
	defer cancel()
	req, err := http.NewRequestWithContext(ctx, http.MethodGet, url+"/healthz", nil)
	if err != nil {
		return ""
	}
	resp, err := http.DefaultClient.Do(req)
	if err != nil {
		return ""
	}
	defer resp.Body.Close()
	if resp.Header.Get(instanceHeader) != secret {
		return ""
	}
	return url
}

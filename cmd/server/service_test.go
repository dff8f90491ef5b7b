package main

import (
	"bytes"
	"context"
	"errors"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/kardianos/service"
)

// fakeSystem is a machine's way of starting programs that only notes what it is
// told; Run starts and stops the program as a real one does.
type fakeSystem struct {
	program service.Interface
	config  *service.Config
	said    []string
	status  service.Status
	fails   error
	running chan struct{} // Run ends when it is closed
}

func (f *fakeSystem) note(what string) error { f.said = append(f.said, what); return f.fails }
func (f *fakeSystem) Install() error         { return f.note("install") }
func (f *fakeSystem) Uninstall() error       { return f.note("uninstall") }
func (f *fakeSystem) Start() error           { return f.note("start") }
func (f *fakeSystem) Stop() error            { return f.note("stop") }
func (f *fakeSystem) Status() (service.Status, error) {
	return f.status, f.fails
}
func (f *fakeSystem) Run() error {
	if err := f.program.Start(nil); err != nil {
		return err
	}
	<-f.running
	return f.program.Stop(nil)
}

func withFakeSystem(t *testing.T) *fakeSystem {
	t.Helper()
	f := &fakeSystem{running: make(chan struct{})}
	before := newSystem
	newSystem = func(i service.Interface, c *service.Config) (system, error) {
		f.program, f.config = i, c
		return f, nil
	}
	t.Cleanup(func() { newSystem = before })
	return f
}

func TestServiceIsInstalledAndRemoved(t *testing.T) {
	f := withFakeSystem(t)
	dir := filepath.Join(t.TempDir(), "log book")
	say := func(want string, args ...string) {
		t.Helper()
		var out, errOut bytes.Buffer
		err := run(context.Background(), append([]string{"service"}, args...), &out, &errOut)
		text := out.String() + errOut.String()
		if err != nil {
			text += err.Error()
		}
		if !strings.Contains(text, want) {
			t.Errorf("service %v says %q, want %q", args, text, want)
		}
	}
	say("now starts when you sign in", "install", "-data", dir)
	if want := []string{"service", "run", "-data", dir, "-boot=false"}; !slices.Equal(f.config.Arguments, want) ||
		f.config.Option["UserService"] != true || !filepath.IsAbs(f.config.Executable) {
		t.Errorf("the system was told %+v", f.config)
	}
	if _, err := os.Stat(dir); err != nil {
		t.Error(err)
	}
	say("starts with the computer", "install", "-data", dir, "-boot")
	if f.config.Option["UserService"] != false {
		t.Errorf("the system was told %+v", f.config)
	}
	f.status = service.StatusRunning
	say("installed and running", "status", "-data", dir)
	say("the logbook stays in "+dir, "remove", "-data", dir)
	if want := []string{"install", "start", "install", "start", "stop", "uninstall"}; !slices.Equal(f.said, want) {
		t.Errorf("the system was asked to %v", f.said)
	}
	f.fails = service.ErrNotInstalled
	say("not installed", "status")
	f.fails = errors.New("no right to")
	say("no right to", "install", "-data", dir)
	say("it must be install, remove or status", "begin")
	say("service needs one of")
}

// As the system runs it, the server answers and ends when the system says so.
func TestServiceServes(t *testing.T) {
	f := withFakeSystem(t)
	dir := t.TempDir()
	done := make(chan error, 1)
	go func() {
		done <- run(context.Background(), []string{"service", "run", "-data", dir}, &bytes.Buffer{}, &bytes.Buffer{})
	}()
	var addr string
	for end := time.Now().Add(20 * time.Second); ; time.Sleep(50 * time.Millisecond) {
		b, err := os.ReadFile(filepath.Join(dir, addressName))
		if addr = strings.TrimSpace(string(b)); err == nil && addr != "" {
			if resp, err := http.Get("http://" + addr + "/healthz"); err == nil && resp.StatusCode == http.StatusOK {
				break
			}
		}
		if time.Now().After(end) {
			t.Fatal("it does not answer")
		}
	}
	close(f.running)
	if err := <-done; err != nil {
		t.Error(err)
	}
	if resp, err := http.Get("http://" + addr + "/healthz"); err == nil {
		t.Errorf("it still answers: %v", resp.Status)
	}
}

package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime"

	"github.com/kardianos/service"
)

// serviceName is what the system calls the service.
const serviceName = "reddside"

// system is what the machine's own way of starting programs can do.
type system interface {
	Install() error
	Uninstall() error
	Start() error
	Stop() error
	Status() (service.Status, error)
	Run() error
}

// newSystem speaks to systemd, launchd or the service manager of Windows; tests
// replace it.
var newSystem = func(i service.Interface, c *service.Config) (system, error) { return service.New(i, c) }

// serviceCommand starts Reddside with the computer, or no longer.
func serviceCommand(ctx context.Context, args []string, out, errOut io.Writer) error {
	if len(args) == 0 {
		return usageError("service needs one of: install, remove, status")
	}
	fs := newFlags("service "+args[0], errOut)
	data := dataFlag(fs)
	atBoot := fs.Bool("boot", runtime.GOOS == "windows",
		"start with the computer, for which an administrator installs it; without it, when you sign in")
	if err := parse(fs, args[1:], 0); err != nil {
		return err
	}
	dir, err := filepath.Abs(*data)
	if err != nil {
		return err
	}
	if !*atBoot && runtime.GOOS == "windows" {
		return usageError("on Windows the service starts with the computer; leave out -boot=false")
	}
	exe, err := os.Executable()
	if err != nil {
		return err
	}
	p := &serviceProgram{ctx: ctx, data: dir, out: out, errOut: errOut}
	s, err := newSystem(p, serviceConfig(exe, dir, *atBoot))
	if err != nil {
		return fmt.Errorf("this system has no way to start programs by itself that is known here: %w", err)
	}
	switch args[0] {
	case "install":
		return installService(s, dir, *atBoot, out)
	case "remove":
		if err := s.Stop(); err != nil {
			fmt.Fprintln(errOut, "it was not running:", err)
		}
		if err := s.Uninstall(); err != nil {
			return fmt.Errorf("remove the service: %w", err)
		}
		fmt.Fprintf(out, "Reddside no longer starts by itself; the logbook stays in %s\n", dir)
		return nil
	case "status":
		return serviceStatus(s, dir, out)
	case "run": // what the system starts
		return s.Run()
	}
	return usageError(fmt.Sprintf("service %q: it must be install, remove or status", args[0]))
}

// serviceConfig is what the system is told: it starts this program for a folder.
func serviceConfig(exe, dir string, atBoot bool) *service.Config {
	return &service.Config{Name: serviceName, DisplayName: "Reddside",
		Description: "Logbook of classroom hatcheries", Executable: exe,
		Arguments: []string{"service", "run", "-data", dir, fmt.Sprintf("-boot=%t", atBoot)},
		Option: service.KeyValue{"UserService": !atBoot, "RunAtLoad": true, "KeepAlive": true, "Restart": "on-failure",
			"DelayedAutoStart": true}}
}

func installService(s system, dir string, atBoot bool, out io.Writer) error {
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return fmt.Errorf("make the folder of the logbook: %w", err)
	}
	if err := s.Install(); err != nil {
		return fmt.Errorf("install the service: %w", err)
	}
	if err := s.Start(); err != nil {
		return fmt.Errorf("it is installed, but does not start: %w", err)
	}
	when := "when you sign in"
	if atBoot {
		when = "with the computer"
	}
	fmt.Fprintf(out, "Reddside now starts %s; the logbook lies in %s. Start it once by hand to open its page.\n", when, dir)
	return nil
}

func serviceStatus(s system, dir string, out io.Writer) error {
	st, err := s.Status()
	switch {
	case errors.Is(err, service.ErrNotInstalled):
		fmt.Fprintln(out, "not installed: Reddside runs while somebody runs it")
		return nil
	case err != nil:
		return fmt.Errorf("ask for the service: %w", err)
	case st == service.StatusRunning:
		fmt.Fprintf(out, "installed and running; the logbook lies in %s\n", dir)
	default:
		fmt.Fprintln(out, "installed, not running")
	}
	return nil
}

// serviceProgram is the server as the system runs it.
type serviceProgram struct {
	ctx         context.Context
	data        string
	out, errOut io.Writer

	stop context.CancelFunc
	done chan error
}

// Start begins to serve and returns at once, as the system wants it.
func (p *serviceProgram) Start(service.Service) error {
	log, err := newLogger("text", p.errOut)
	if err != nil {
		return err
	}
	ctx, stop := context.WithCancel(p.ctx)
	p.stop, p.done = stop, make(chan error, 1)
	o := serveOptions{data: p.data, logFormat: "text", replica: os.Getenv(replicaEnv)}
	go func() { p.done <- serveDesktop(ctx, o, log, p.out, p.errOut) }()
	return nil
}

// Stop lets running requests finish.
func (p *serviceProgram) Stop(service.Service) error {
	p.stop()
	return <-p.done
}

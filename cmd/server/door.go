package main

import (
	"errors"
	"io/fs"
	"log/slog"
	"net"
	"os"
	"path/filepath"
	"sync"
	"time"

	"reddside/internal/web"
)

// openName is a file of the data folder that is there while tablets may reach
// this computer. It is of the computer, not of the logbook: a logbook that moves
// does not open the next computer.
const openName = "open-to-tablets"

// door is where the program listens. It moves between this computer alone and
// the whole network without a stop, and stays while the logbook is replaced:
// whoever knocks then waits.
type door struct {
	mu    sync.Mutex
	ln    *net.TCPListener
	shut  bool // nobody serves at the moment
	moved func(net.Addr)
}

func newDoor(addr string) (*door, error) {
	ln, err := net.Listen("tcp", addr)
	if err != nil {
		return nil, err
	}
	return &door{ln: ln.(*net.TCPListener)}, nil
}

// Accept waits for the next connection, through every move.
func (d *door) Accept() (net.Conn, error) {
	for {
		ln := d.now()
		c, err := ln.Accept()
		if err == nil {
			return c, nil
		}
		d.mu.Lock()
		same, shut := ln == d.ln, d.shut
		d.mu.Unlock()
		switch {
		case shut:
			return nil, net.ErrClosed
		case same && !errors.Is(err, os.ErrDeadlineExceeded):
			return nil, err
		}
	}
}

func (d *door) now() *net.TCPListener {
	d.mu.Lock()
	defer d.mu.Unlock()
	return d.ln
}

// Addr is where it is now.
func (d *door) Addr() net.Addr { return d.now().Addr() }

// Close ends Accept; the system keeps who knocks until Open or End.
func (d *door) Close() error {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.shut = true
	return d.ln.SetDeadline(time.Unix(1, 0))
}

// Open lets Accept go on.
func (d *door) Open() error {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.shut = false
	return d.ln.SetDeadline(time.Time{})
}

// onMove sets what is told where it is after a move.
func (d *door) onMove(f func(net.Addr)) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.moved = f
}

// End gives the address back.
func (d *door) End() error { return d.now().Close() }

// Move listens at another host with the same port. When that fails it is where it was.
func (d *door) Move(host string) error {
	d.mu.Lock()
	defer d.mu.Unlock()
	was := d.ln.Addr().String()
	_, port, err := net.SplitHostPort(was)
	if err != nil {
		return err
	}
	_ = d.ln.Close()
	ln, err := net.Listen("tcp", net.JoinHostPort(host, port))
	if err != nil {
		var again error
		if ln, again = net.Listen("tcp", was); again != nil {
			return errors.Join(err, again)
		}
	}
	d.ln = ln.(*net.TCPListener)
	if err == nil && d.moved != nil {
		d.moved(d.ln.Addr())
	}
	return err
}

// Hosts of the switch on the page of this computer.
const (
	hostHere    = "127.0.0.1"
	hostNetwork = "0.0.0.0"
)

func hostFor(open bool) string {
	if open {
		return hostNetwork
	}
	return hostHere
}

// openToTablets reports whether the switch of a folder is on.
func openToTablets(dir string) bool {
	_, err := os.Stat(filepath.Join(dir, openName))
	return err == nil
}

// computer is what the pages may know and do of the computer they are served from.
func (o serveOptions) computer(d *door, log *slog.Logger, replace func(string)) web.Computer {
	c := web.Computer{Version: versionHere(), Replace: replace}
	if o.own == nil {
		return c
	}
	c.Open = func() bool { return openToTablets(o.data) }
	c.SetOpen = func(on bool) error {
		path := filepath.Join(o.data, openName)
		if err := d.Move(hostFor(on)); err != nil {
			return err
		}
		log.Info("open to tablets", "on", on)
		if on {
			return os.WriteFile(path, nil, 0o600)
		}
		if err := os.Remove(path); !errors.Is(err, fs.ErrNotExist) {
			return err
		}
		return nil
	}
	return c
}

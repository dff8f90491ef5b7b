package main

import (
	"net"
	"sync"
)

// Files kept for the logbook, its backup, uploads and certificates, and how many
// connections are served at once when there are files for more: local choices.
// A school with 40 tablets opens some 250.
const (
	fileReserve    = 128
	maxConnections = 4096
)

// connections returns how many may be open at once when so many files may be; 0
// files is not known.
func connections(files int) int {
	if files == 0 {
		return maxConnections
	}
	return max(16, min(maxConnections, files-min(fileReserve, files/2)))
}

// limited accepts at most a number of connections; further ones wait in the
// queue of the system until one ends.
type limited struct {
	net.Listener
	free chan struct{}
	done chan struct{}
	once sync.Once
}

func limit(ln net.Listener, n int) net.Listener {
	return &limited{Listener: ln, free: make(chan struct{}, n), done: make(chan struct{})}
}

func (l *limited) Accept() (net.Conn, error) {
	select {
	case l.free <- struct{}{}:
	case <-l.done:
		return nil, net.ErrClosed
	}
	c, err := l.Listener.Accept()
	if err != nil {
		<-l.free
		return nil, err
	}
	return &counted{Conn: c, end: sync.OnceFunc(func() { <-l.free })}, nil
}

func (l *limited) Close() error {
	l.once.Do(func() { close(l.done) })
	return l.Listener.Close()
}

// counted gives its place free when it is closed.
type counted struct {
	net.Conn
	end func()
}

func (c *counted) Close() error {
	defer c.end()
	return c.Conn.Close()
}

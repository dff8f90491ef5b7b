package main

import (
	"crypto/tls"
	"os"
	"sync"
	"time"
)

// certificate is a key pair read from files, read again when they change, so
// that a renewed certificate needs no restart.
type certificate struct {
	certFile, keyFile string

	mu       sync.Mutex
	pair     *tls.Certificate
	modified time.Time
}

func newCertificate(certFile, keyFile string) (*certificate, error) {
	c := &certificate{certFile: certFile, keyFile: keyFile}
	return c, c.load()
}

func (c *certificate) load() error {
	info, err := os.Stat(c.certFile)
	if err != nil {
		return err
	}
	if c.pair != nil && info.ModTime().Equal(c.modified) {
		return nil
	}
	pair, err := tls.LoadX509KeyPair(c.certFile, c.keyFile)
	if err != nil {
		return err
	}
	c.pair, c.modified = &pair, info.ModTime()
	return nil
}

// get answers a handshake; a broken new file leaves the old pair in use.
func (c *certificate) get(*tls.ClientHelloInfo) (*tls.Certificate, error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if err := c.load(); err != nil && c.pair == nil {
		return nil, err
	}
	return c.pair, nil
}

package main

import (
	"log/slog"
	"net"

	"github.com/pion/logging"
	"github.com/pion/mdns/v2"
	"golang.org/x/net/ipv4"
)

// tabletName is the name under which tablets find this computer where the network
// carries multicast DNS (RFC 6762).
const tabletName = "reddside.local"

// named answers for tabletName while it is on.
type named struct {
	log  *slog.Logger
	conn *mdns.Conn
}

// set turns it on or off and reports whether it answers. A network that carries no
// such names is nothing to fail for: the plain address stays.
func (n *named) set(on bool) bool {
	switch {
	case on && n.conn == nil:
		conn, err := answerFor(tabletName, false)
		if err != nil {
			n.log.Warn("no name on this network; use the plain address", "name", tabletName, "err", err)
			return false
		}
		n.conn = conn
	case !on && n.conn != nil:
		if err := n.conn.Close(); err != nil {
			n.log.Warn("take the name back", "err", err)
		}
		n.conn = nil
	}
	return on
}

// answerFor answers queries for names of this computer; without a name it only asks.
func answerFor(name string, loopback bool) (*mdns.Conn, error) {
	at, err := net.ResolveUDPAddr("udp4", mdns.DefaultAddressIPv4)
	if err != nil {
		return nil, err
	}
	ln, err := net.ListenUDP("udp4", at)
	if err != nil {
		return nil, err
	}
	quiet := logging.NewDefaultLoggerFactory()
	quiet.DefaultLogLevel = logging.LogLevelDisabled
	options := []mdns.ServerOption{mdns.WithIncludeLoopback(loopback), mdns.WithLoggerFactory(quiet)}
	if name != "" {
		options = append(options, mdns.WithLocalNames(name))
	}
	conn, err := mdns.NewServer(ipv4.NewPacketConn(ln), nil, options...)
	if err != nil {
		_ = ln.Close()
	}
	return conn, err
}

package req

import (
	"context"
	"net"
	"net/http"
	"slices"
	"strings"
	"sync"
	"time"
)

// network is where the server can be reached. It is told when the server listens,
// and at each move; before, and for a loopback address, it knows no address.
type network struct {
	mu     sync.Mutex
	all    bool   // listens on every interface
	port   string // "" before the server listens
	fixed  string // the one address, when it does not listen on all
	names  []string
	before []string // addresses of the start before, host and port
	own    []string // addresses of the interfaces, read at readAt
	readAt time.Time
}

// interfacesEvery is how old the list of this machine's addresses may be.
const interfacesEvery = 10 * time.Second

// Listening tells the server under which address it listens and by which further
// names it is known, and returns where it can be reached from the network: host
// and port, best first, none for a loopback address. What it returns is
// remembered, so that the next start can tell what has changed.
func (s *Kernel) Listening(ctx context.Context, a net.Addr, names []string) ([]string, error) {
	n := &s.Network
	host, port, err := net.SplitHostPort(a.String())
	if err != nil {
		return nil, err
	}
	ip := net.ParseIP(host)
	n.mu.Lock()
	n.port, n.names = port, names
	n.all, n.fixed = ip != nil && ip.IsUnspecified(), ""
	if !n.all && ip != nil && !ip.IsLoopback() {
		n.fixed = host
	}
	n.mu.Unlock()
	now := n.addresses(s.Clock())
	if len(now) == 0 {
		return nil, nil
	}
	before, err := s.DB.ServerAddresses(ctx)
	if err != nil {
		return now, err
	}
	n.mu.Lock()
	n.before = before
	n.mu.Unlock()
	if slices.Equal(before, slices.Sorted(slices.Values(now))) || s.DB.ReadOnly() {
		return now, nil
	}
	return now, s.DB.SetServerAddresses(ctx, now, s.Clock())
}

// addresses lists where the server can be reached now, host and port: names
// first, since they stay, then IPv4, then IPv6. Names ending in .local come last: not
// every tablet finds them.
func (n *network) addresses(now time.Time) []string {
	n.mu.Lock()
	defer n.mu.Unlock()
	var hosts []string
	switch {
	case n.port == "":
	case n.all:
		hosts = n.interfaces(now)
	case n.fixed != "":
		hosts = []string{n.fixed}
	}
	if len(hosts) == 0 {
		return nil
	}
	var out, local []string
	for _, h := range append(slices.Clone(n.names), hosts...) {
		if strings.HasSuffix(h, ".local") {
			local = append(local, net.JoinHostPort(h, n.port))
		} else {
			out = append(out, net.JoinHostPort(h, n.port))
		}
	}
	return append(out, local...)
}

// interfaces lists this machine's addresses as other machines see them.
func (n *network) interfaces(now time.Time) []string {
	if n.own != nil && now.Sub(n.readAt) < interfacesEvery {
		return n.own
	}
	addrs, err := net.InterfaceAddrs()
	if err != nil {
		return n.own
	}
	var four, six []string
	for _, a := range addrs {
		x, ok := a.(*net.IPNet)
		switch {
		case !ok || !x.IP.IsGlobalUnicast():
		case x.IP.To4() != nil:
			four = append(four, x.IP.String())
		default:
			six = append(six, x.IP.String())
		}
	}
	n.own, n.readAt = append(append([]string{}, four...), six...), now
	return n.own
}

// has reports whether an address belongs to this machine now: it may have got a
// new one since the start.
func (n *network) has(ip net.IP, now time.Time) bool {
	n.mu.Lock()
	defer n.mu.Unlock()
	return n.all && slices.Contains(n.interfaces(now), ip.String())
}

// named reports whether a name leads here while the server listens on a network.
func (n *network) named(host string) bool {
	n.mu.Lock()
	defer n.mu.Unlock()
	return (n.all || n.fixed != "") && slices.Contains(n.names, host)
}

// Gone lists addresses of the start before that lead here no more.
func (n *network) Gone(now time.Time) []string {
	have := n.addresses(now)
	n.mu.Lock()
	defer n.mu.Unlock()
	var out []string
	for _, a := range n.before {
		if !slices.Contains(have, a) {
			out = append(out, a)
		}
	}
	return out
}

// ReachedAt lists where a tablet can reach the server, host and port: first the
// one of this request, which is known to work, unless it is this machine's own.
func (s *Kernel) ReachedAt(r *http.Request) []string {
	all := s.Network.addresses(Of(r).Now)
	if LoopbackHost(r.Host) {
		return all
	}
	return append([]string{r.Host}, slices.DeleteFunc(all, func(a string) bool { return a == r.Host })...)
}

// BaseURL is the address of the server under a host.
func (s *Kernel) BaseURL(r *http.Request, host string) string {
	if s.TLS || r.TLS != nil {
		return "https://" + host
	}
	return "http://" + host
}

// AtThisComputer reports whether a request comes from a browser on this machine.
func AtThisComputer(r *http.Request) bool { return LoopbackHost(r.RemoteAddr) }

// LoopbackHost reports whether a host, with or without port, is this computer as
// it calls itself.
func LoopbackHost(host string) bool {
	if h, _, err := net.SplitHostPort(host); err == nil {
		host = h
	}
	ip := net.ParseIP(strings.Trim(host, "[]"))
	return host == "localhost" || (ip != nil && ip.IsLoopback())
}

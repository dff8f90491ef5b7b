package main

import (
	"net"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"golang.org/x/net/dns/dnsmessage"
	"golang.org/x/net/ipv4"
)

// The switch works at once, is remembered, is turned only at the computer itself,
// and is not there when the start says where to listen.
func TestSwitchForTablets(t *testing.T) {
	dir, site := newLogbook(t)
	plantKeeper(t, dir, site)
	base, _, end := desktop(t, dir)
	at, err := url.Parse(base)
	if err != nil {
		t.Fatal(err)
	}
	outside := "http://" + net.JoinHostPort(networkAddress(t), at.Port())
	reached := func() bool {
		res, err := (&http.Client{Timeout: 5 * time.Second, Transport: &http.Transport{DisableKeepAlives: true}}).
			Get(outside + "/healthz")
		return err == nil && res.StatusCode == 200
	}
	if reached() {
		t.Fatal("reached from the network before anybody said so")
	}
	keeper := visitor(t, base)
	keeper.signsInAs("Keeper")
	res, body := keeper.ask("GET", "/computer", nil)
	if res.StatusCode != 200 || !strings.Contains(body, dir) || !strings.Contains(body, "No tablet can reach") {
		t.Errorf("the page: %d %s", res.StatusCode, body)
	}
	under := func(name string) int {
		res, _ := keeper.ask("GET", "/healthz", nil, "Host", name+":"+at.Port())
		return res.StatusCode
	}
	if got := under(tabletName); got != http.StatusMisdirectedRequest {
		t.Errorf("answers as %s while closed: %d", tabletName, got)
	}
	if _, body = keeper.ask("POST", "/computer", url.Values{"open": {"yes"}}, "Origin", base); !strings.Contains(body,
		"Tablets reach this computer at") || !strings.Contains(body, `class="qr"`) {
		t.Errorf("after the switch: %s", body)
	}
	if !reached() {
		t.Error("not reached from the network")
	}
	if strings.Contains(body, "http://"+tabletName+":"+at.Port()) { // the network carries names
		if got := under(tabletName); got != http.StatusOK {
			t.Errorf("as %s: %d", tabletName, got)
		}
	} else {
		t.Log("no multicast here: the name is not given")
	}
	if got := under("elsewhere.example"); got != http.StatusMisdirectedRequest {
		t.Errorf("under another name: %d", got)
	}
	far := visitor(t, outside)
	far.signsInAs("Keeper")
	far.client.CheckRedirect = func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }
	if networkAddress(t) != "127.0.0.2" {
		res, _ := far.ask("POST", "/computer", url.Values{"open": {"no"}}, "Origin", outside)
		if res.StatusCode != http.StatusForbidden || !reached() {
			t.Errorf("closed from the network: %d", res.StatusCode)
		}
		if _, body := far.ask("GET", "/computer", nil); strings.Contains(body, dir) {
			t.Error("the network is told where the logbook lies")
		}
	}
	end()
	base, _, end = desktop(t, dir)
	defer end()
	if !reached() {
		t.Error("forgotten at the next start")
	}
	keeper.base = base
	keeper.ask("POST", "/computer", url.Values{"open": {"no"}}, "Origin", base)
	if reached() {
		t.Error("still reached after it was closed")
	}
	if res, _ := keeper.ask("GET", "/computer", nil); res.StatusCode != 200 {
		t.Errorf("closed to itself: %d", res.StatusCode)
	}
	if _, err := os.Stat(filepath.Join(dir, openName)); err == nil {
		t.Error("open again at the next start")
	}
}

func TestNoSwitchWithAnAddress(t *testing.T) {
	s, _ := serveOnNetwork(t)
	s.signsInAs("Keeper")
	if _, body := s.ask("GET", "/computer", nil); !strings.Contains(body, "The start of this program says") {
		t.Errorf("no word of it: %s", body)
	}
	if res, _ := s.ask("POST", "/computer", url.Values{"open": {"no"}}, "Origin", s.base); res.StatusCode != 409 {
		t.Errorf("turned: %d", res.StatusCode)
	}
}

// A question for reddside.local over multicast, put together by the DNS package of
// another project, is answered with an address of this machine.
func TestNameOfThisComputer(t *testing.T) {
	group := &net.UDPAddr{IP: net.IPv4(224, 0, 0, 251), Port: 5353} // RFC 6762
	c, err := net.ListenMulticastUDP("udp4", nil, group)
	if err != nil {
		t.Skip("no multicast here: ", err)
	}
	defer c.Close()
	if err := ipv4.NewPacketConn(c).SetMulticastLoopback(true); err != nil { // the answer is on this machine
		t.Skip("no multicast here: ", err)
	}
	q := dnsmessage.Message{Questions: []dnsmessage.Question{{Name: dnsmessage.MustNewName(tabletName + "."),
		Type: dnsmessage.TypeA, Class: dnsmessage.ClassINET}}}
	ask, err := q.Pack()
	if err != nil {
		t.Fatal(err)
	}
	// heard waits for a packet that passes.
	heard := func(wait time.Duration, passes func(*dnsmessage.Message) bool) bool {
		if _, err := c.WriteToUDP(ask, group); err != nil {
			t.Skip("no multicast here: ", err)
		}
		if err := c.SetReadDeadline(time.Now().Add(wait)); err != nil {
			t.Fatal(err)
		}
		b := make([]byte, 9000)
		for {
			n, _, err := c.ReadFromUDP(b)
			if err != nil {
				return false
			}
			var m dnsmessage.Message
			if m.Unpack(b[:n]) == nil && passes(&m) {
				return true
			}
		}
	}
	if !heard(3*time.Second, func(m *dnsmessage.Message) bool { return !m.Response && len(m.Questions) == 1 }) {
		t.Skip("no multicast here: the question itself does not come back")
	}
	var own []string
	addrs, err := net.InterfaceAddrs()
	if err != nil {
		t.Fatal(err)
	}
	for _, a := range addrs {
		if n, ok := a.(*net.IPNet); ok {
			own = append(own, n.IP.String())
		}
	}
	answer := func(m *dnsmessage.Message) bool {
		for _, a := range m.Answers {
			if r, ok := a.Body.(*dnsmessage.AResource); ok && strings.EqualFold(a.Header.Name.String(), tabletName+".") {
				ip := net.IP(r.A[:]).String()
				if !slices.Contains(own, ip) {
					t.Errorf("the name leads to %s, which is not here", ip)
				}
				return true
			}
		}
		return false
	}
	if heard(time.Second, answer) {
		t.Skip("something on this network has the name already")
	}
	conn, err := answerFor(tabletName, true)
	if err != nil {
		t.Skip("no multicast here: ", err)
	}
	if !heard(5*time.Second, answer) {
		t.Error("no answer")
	}
	if err := conn.Close(); err != nil {
		t.Error(err)
	}
	if heard(time.Second, answer) {
		t.Error("it answers after it was closed")
	}
}

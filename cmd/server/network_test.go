package main

import (
	"bufio"
	"bytes"
	"context"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"encoding/pem"
	"io"
	"math/big"
	"net"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/alexedwards/argon2id"

	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/units"
)

// networkAddress is an address of this machine that is not loopback, or the
// second loopback address when it has none.
func networkAddress(t *testing.T) string {
	t.Helper()
	addrs, err := net.InterfaceAddrs()
	if err != nil {
		t.Fatal(err)
	}
	for _, a := range addrs {
		if n, ok := a.(*net.IPNet); ok && n.IP.To4() != nil && !n.IP.IsLoopback() {
			return n.IP.String()
		}
	}
	return "127.0.0.2"
}

// served is a running server, asked as a browser on the network asks it.
type served struct {
	t      *testing.T
	base   string // scheme, network address, port
	client *http.Client
}

const wordsOfKeeper = "seven quiet eggs in gravel"

// serveOnNetwork runs the program on all addresses over a logbook with one school
// and its keeper.
func serveOnNetwork(t *testing.T, extra ...string) (*served, logbook.ID) {
	t.Helper()
	dir, site := newLogbook(t)
	keeper := plantKeeper(t, dir, site)
	ctx, stop := context.WithCancel(context.Background())
	pr, pw := io.Pipe()
	done := make(chan error, 1)
	go func() {
		done <- run(ctx, append([]string{"serve", "-addr", "0.0.0.0:0", "-data", dir}, extra...), pw, io.Discard)
		_ = pw.Close()
	}()
	t.Cleanup(func() {
		stop()
		if err := <-done; err != nil {
			t.Error("stop:", err)
		}
	})
	line, err := bufio.NewReader(pr).ReadString('\n')
	if err != nil {
		t.Fatal("the server did not start:", err)
	}
	go func() { _, _ = io.Copy(io.Discard, pr) }()
	at, ok := strings.CutPrefix(strings.TrimSpace(line), "listening on ")
	u, err := url.Parse(at)
	if !ok || err != nil {
		t.Fatalf("first line %q", line)
	}
	u.Host = net.JoinHostPort(networkAddress(t), u.Port())
	jar, err := cookiejar.New(nil)
	if err != nil {
		t.Fatal(err)
	}
	return &served{t, u.String(), &http.Client{Jar: jar, Timeout: 20 * time.Second}}, keeper
}

func plantKeeper(t *testing.T, dir string, site logbook.ID) logbook.ID {
	t.Helper()
	db, err := store.Open(t.Context(), dir, store.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	boss := logbook.Actor{Role: logbook.Coordinator, Label: "Coordinator"}
	if _, err := db.CreateProgramme(t.Context(), boss, logbook.Programme{Name: "Test", Language: "en",
		TemperatureUnit: units.Cel}, time.Now()); err != nil {
		t.Fatal(err)
	}
	hash, err := argon2id.CreateHash(wordsOfKeeper, &argon2id.Params{Memory: 8 * 1024, Iterations: 1, Parallelism: 1,
		SaltLength: 16, KeyLength: 32})
	if err != nil {
		t.Fatal(err)
	}
	a, err := db.CreateAccount(t.Context(), store.Account{Role: logbook.Keeper, SiteID: site, Label: "Keeper",
		PassphraseHash: hash}, time.Now())
	if err != nil {
		t.Fatal(err)
	}
	return a.ID
}

// ask sends a request; header pairs follow. Redirects are followed.
func (s *served) ask(method, path string, form url.Values, header ...string) (*http.Response, string) {
	s.t.Helper()
	req, err := http.NewRequest(method, s.base+path, strings.NewReader(form.Encode()))
	if err != nil {
		s.t.Fatal(err)
	}
	if form != nil {
		req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	}
	for i := 0; i+1 < len(header); i += 2 {
		if header[i] == "Host" {
			req.Host = header[i+1]
		} else {
			req.Header.Set(header[i], header[i+1])
		}
	}
	res, err := s.client.Do(req)
	if err != nil {
		s.t.Fatal(err)
	}
	defer res.Body.Close()
	body, err := io.ReadAll(res.Body)
	if err != nil {
		s.t.Fatal(err)
	}
	return res, string(body)
}

// signsIn signs in and returns the cookie as it was sent.
func (s *served) signsIn(keeper logbook.ID) *http.Cookie {
	s.t.Helper()
	s.client.CheckRedirect = func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }
	res, body := s.ask("POST", "/sign-in", url.Values{"account": {"Keeper"}, "passphrase": {wordsOfKeeper}},
		"Origin", s.base)
	s.client.CheckRedirect = nil
	if res.StatusCode != http.StatusSeeOther {
		s.t.Fatalf("sign-in: %d %s", res.StatusCode, body)
	}
	for _, c := range res.Cookies() {
		if strings.HasSuffix(c.Name, "reddside_session") {
			return c
		}
	}
	s.t.Fatalf("no session cookie: %v", res.Cookies())
	return nil
}

// rules of cookie, host and origin that hold on http and on https.
func (s *served) keepsRules(keeper logbook.ID) *http.Cookie {
	s.t.Helper()
	c := s.signsIn(keeper)
	if !c.HttpOnly || c.SameSite != http.SameSiteLaxMode || c.Path != "/" || c.Domain != "" {
		s.t.Errorf("cookie %+v", c)
	}
	// The sign-in holds: no loop back to the sign-in page.
	if res, _ := s.ask("GET", "/sites", nil); res.StatusCode != 200 || res.Request.URL.Path != "/sites" {
		s.t.Errorf("after sign-in: %d at %s", res.StatusCode, res.Request.URL)
	}
	if res, _ := s.ask("GET", "/", nil, "Host", "elsewhere.example"); res.StatusCode != http.StatusMisdirectedRequest {
		s.t.Errorf("under another name: %d", res.StatusCode)
	}
	for _, bad := range [][]string{{"Origin", "http://elsewhere.example"}, {"Origin", "null"},
		{"Sec-Fetch-Site", "cross-site"}} {
		if res, _ := s.ask("POST", "/sign-out", url.Values{}, bad...); res.StatusCode != http.StatusForbidden {
			s.t.Errorf("a request with %v: %d", bad, res.StatusCode)
		}
	}
	if res, _ := s.ask("GET", "/sites", nil); res.Request.URL.Path != "/sites" {
		s.t.Error("another site's page signed the keeper out")
	}
	// Signing out ends the session on the server, not only in the browser.
	s.ask("POST", "/sign-out", url.Values{}, "Origin", s.base)
	s.client.Jar, _ = cookiejar.New(nil)
	if res, _ := s.ask("GET", "/sites", nil, "Cookie", c.Name+"="+c.Value); res.Request.URL.Path != "/sign-in" {
		s.t.Errorf("the cookie of an ended session opens %s", res.Request.URL)
	}
	return c
}

func TestPlainHTTPOnTheNetwork(t *testing.T) {
	s, keeper := serveOnNetwork(t)
	c := s.keepsRules(keeper)
	if c.Secure || strings.HasPrefix(c.Name, "__Host-") {
		t.Errorf("on plain http a browser drops the cookie %+v", c)
	}
	if res, _ := s.ask("GET", "/sign-in", nil); res.Header.Get("Strict-Transport-Security") != "" {
		t.Error("plain http asks for https")
	}
	if res, body := s.ask("POST", "/demo/sign-in", url.Values{"role": {"coordinator"}}, "Origin",
		s.base); res.StatusCode < 400 && strings.Contains(body, "/sign-out") {
		t.Error("a role at a click, outside the demonstration")
	}
}

func TestTLSOnTheNetwork(t *testing.T) {
	certFile, keyFile, pool := selfSigned(t)
	s, keeper := serveOnNetwork(t, "-tls-cert", certFile, "-tls-key", keyFile)
	if !strings.HasPrefix(s.base, "https://") {
		t.Fatal("listening on", s.base)
	}
	s.client.Transport = &http.Transport{TLSClientConfig: &tls.Config{RootCAs: pool}}
	c := s.keepsRules(keeper)
	if !c.Secure || c.Name != "__Host-reddside_session" {
		t.Errorf("on https the cookie is %+v", c)
	}
	res, _ := s.ask("GET", "/sign-in", nil)
	if res.Header.Get("Strict-Transport-Security") == "" || res.TLS.Version < tls.VersionTLS12 {
		t.Errorf("headers %v, version %x", res.Header, res.TLS.Version)
	}
	u, _ := url.Parse(s.base)
	_, err := tls.Dial("tcp", u.Host, &tls.Config{RootCAs: pool, MaxVersion: tls.VersionTLS11,
		MinVersion: tls.VersionTLS10})
	if err == nil {
		t.Error("an old version of TLS was taken")
	}
	plain, err := http.Get("http://" + u.Host + "/healthz")
	if err == nil {
		defer plain.Body.Close()
		if plain.StatusCode == 200 {
			t.Error("plain http is answered on the https port")
		}
	}
}

// selfSigned writes a certificate for the addresses of this machine.
func selfSigned(t *testing.T) (certFile, keyFile string, pool *x509.CertPool) {
	t.Helper()
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	template := &x509.Certificate{SerialNumber: big.NewInt(1), NotBefore: time.Now().Add(-time.Hour),
		NotAfter:    time.Now().Add(time.Hour),
		IPAddresses: []net.IP{net.ParseIP(networkAddress(t))}, IsCA: true, BasicConstraintsValid: true}
	der, err := x509.CreateCertificate(rand.Reader, template, template, &key.PublicKey, key)
	if err != nil {
		t.Fatal(err)
	}
	keyDER, err := x509.MarshalECPrivateKey(key)
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	certFile, keyFile = filepath.Join(dir, "cert.pem"), filepath.Join(dir, "key.pem")
	write := func(name, kind string, der []byte) {
		var b bytes.Buffer
		if err := pem.Encode(&b, &pem.Block{Type: kind, Bytes: der}); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(name, b.Bytes(), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	write(certFile, "CERTIFICATE", der)
	write(keyFile, "EC PRIVATE KEY", keyDER)
	cert, err := x509.ParseCertificate(der)
	if err != nil {
		t.Fatal(err)
	}
	pool = x509.NewCertPool()
	pool.AddCert(cert)
	return certFile, keyFile, pool
}

package main

import (
	"context"
	"crypto/tls"
	"errors"
	"flag"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"os"
	"strings"
	"time"

	"reddside/internal/demo"
	"reddside/internal/replica"
	"reddside/internal/store"
	"reddside/internal/web"
)

// replicaEnv sets the default of -replica: an address with a password should not
// stand on a command line that others can list.
const replicaEnv = "REDDSIDE_REPLICA"

// serveOptions are the flags of serve.
type serveOptions struct {
	addr, data, host, cert, key, logFormat string
	replica                                string // place of the copy elsewhere, "" for none
	demo, readOnly                         bool
	open                                   bool         // show the page in a browser
	own                                    *ownInstance // of a start on a desktop, else nil
	again                                  bool         // another logbook took the place of that served before
}

// serve opens the logbook and answers requests until the context ends, then
// lets running requests finish.
func serve(ctx context.Context, args []string, out, errOut io.Writer) error {
	var o serveOptions
	fs := newFlags("serve", errOut)
	fs.StringVar(&o.addr, "addr", "127.0.0.1:8080", "address to listen on; port 0 picks one")
	fs.StringVar(&o.host, "host", "", "further names under which the server is reached, separated by commas")
	fs.StringVar(&o.cert, "tls-cert", "", "certificate file (PEM); with -tls-key serves https")
	fs.StringVar(&o.key, "tls-key", "", "private key file (PEM)")
	fs.StringVar(&o.replica, "replica", os.Getenv(replicaEnv),
		"folder, or sftp://USER@HOST/FOLDER?hostkey=KEY&key=FILE, where a copy is kept all the time")
	fs.StringVar(&o.logFormat, "log-format", "text", "text or json")
	fs.BoolVar(&o.demo, "demo", false, "use a temporary copy of an invented season")
	fs.BoolVar(&o.readOnly, "read-only", false,
		"show the logbook without writing anything, also from a disk that cannot be written")
	fs.BoolVar(&o.open, "open", len(args) == 0 && hasScreen(),
		"start once, on a free port that stays the same, and open the browser; -open=false leaves the browser out")
	data := dataFlag(fs)
	if err := parse(fs, args, 0); err != nil {
		return err
	}
	o.data = *data
	given := map[string]bool{}
	fs.Visit(func(f *flag.Flag) { given[f.Name] = true })
	log, err := newLogger(o.logFormat, errOut)
	if err != nil {
		return err
	}
	if (o.cert == "") != (o.key == "") {
		return usageError("-tls-cert and -tls-key go together")
	}
	if given["replica"] && (o.demo || o.readOnly) {
		return usageError("-replica does not go together with -demo or -read-only")
	}
	if o.demo && o.readOnly {
		return usageError("-demo and -read-only do not go together")
	}
	if given["open"] && (o.demo || o.readOnly || given["addr"] || o.cert != "") {
		return usageError("-open picks the address itself; leave out -addr, -demo, -read-only and -tls-cert")
	}
	if len(args) == 0 || given["open"] {
		return serveDesktop(ctx, o, log, out, errOut)
	}
	if o.demo {
		return serveDemo(ctx, o, log, out, errOut)
	}
	return serveLogbook(ctx, o, log, out, errOut)
}

// serveDemo serves an invented programme in a folder that is removed at the end.
func serveDemo(ctx context.Context, o serveOptions, log *slog.Logger, out, errOut io.Writer) error {
	dir, err := os.MkdirTemp("", "reddside-demo-")
	if err != nil {
		return fmt.Errorf("make a folder for the demonstration: %w", err)
	}
	defer func() { _ = os.RemoveAll(dir) }()
	o.data = dir
	fmt.Fprintf(errOut, "the demonstration lies in %s until it stops; a token for it: server token -data %s -role coordinator\n", dir, dir)
	return serveLogbook(ctx, o, log, out, errOut)
}

func serveLogbook(ctx context.Context, o serveOptions, log *slog.Logger, out, errOut io.Writer) error {
	if o.demo || o.readOnly {
		o.replica = ""
	}
	var place replica.Place
	if o.replica != "" {
		var err error
		if place, err = replica.ParsePlace(o.replica); err != nil {
			return usageError(err.Error())
		}
	}
	d, err := o.door()
	if err != nil {
		return fmt.Errorf("listen: %w", err)
	}
	defer func() { _ = d.End() }()
	for first := true; ; first = false {
		from, err := serveUntil(ctx, o, place, d, first, log, out, errOut)
		if from == "" || err != nil {
			return err
		}
		// It was checked before it was given: what fails now leaves the logbook as it is.
		if _, err := store.Restore(ctx, from, o.data, time.Now()); err != nil {
			log.Error("put the logbook of another computer in place", "err", err)
		}
		_ = errors.Join(os.Remove(from), os.Remove(from+".json"))
	}
}

// door is where o listens.
func (o serveOptions) door() (*door, error) {
	if o.own != nil {
		return o.own.door, nil
	}
	return newDoor(o.addr)
}

// serveUntil serves the logbook until ctx ends, or until the backup of another
// computer, whose path it returns, is to take its place.
func serveUntil(ctx context.Context, o serveOptions, place replica.Place, d *door, first bool, log *slog.Logger,
	out, errOut io.Writer) (from string, err error) {
	db, err := store.Open(ctx, o.data, store.Options{Now: time.Now(), Scratch: o.demo, ReadOnly: o.readOnly,
		Replicated: o.replica != ""})
	if err != nil {
		return "", explain(err)
	}
	defer func() { _ = db.Close() }()
	var elsewhere *replica.Replica
	if o.replica != "" {
		elsewhere = replica.Start(db, place, log, time.Now)
		defer elsewhere.Close()
	}
	if o.demo {
		if err := demo.Fill(ctx, db, time.Now()); err != nil {
			return "", fmt.Errorf("make the demonstration: %w", err)
		}
	}
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	given := make(chan string, 1)
	replace := func(path string) {
		select {
		case given <- path:
			stop()
		default: // one is on its way already
		}
	}
	srv, err := web.New(web.Options{DB: db, Clock: time.Now, Log: log, Hosts: hostNames(o), TLS: o.cert != "",
		Demo: o.demo, Replica: elsewhere, Computer: o.computer(d, log, replace)})
	if err != nil {
		return "", err
	}
	start := ""
	if o.readOnly {
		fmt.Fprintln(errOut, "read-only: nothing is stored, and what others store from now on is not shown")
	} else if start, err = offerSetup(ctx, db, errOut); err != nil {
		return "", err
	}
	o.again = !first
	if err := listen(ctx, o, srv, d, start, log, out, errOut); err != nil {
		return "", err
	}
	select {
	case from = <-given:
	default:
	}
	return from, nil
}

// listen serves until ctx ends. It tells on errOut where the server can be
// reached from the network.
func listen(ctx context.Context, o serveOptions, srv *web.Server, d *door, start string, log *slog.Logger,
	out, errOut io.Writer) error {
	if err := d.Open(); err != nil {
		return err
	}
	ln := limit(d, connections(openFiles()))
	hs := &http.Server{
		Handler: srv, ReadHeaderTimeout: 10 * time.Second, ReadTimeout: 60 * time.Second,
		WriteTimeout: 120 * time.Second, IdleTimeout: 30 * time.Second,
		ErrorLog: slog.NewLogLogger(log.Handler(), slog.LevelDebug),
	}
	scheme := "http"
	if o.cert != "" {
		scheme = "https"
		cert, err := newCertificate(o.cert, o.key)
		if err != nil {
			return fmt.Errorf("read the certificate: %w", err)
		}
		hs.TLSConfig = &tls.Config{MinVersion: tls.VersionTLS12, GetCertificate: cert.get}
		ln = tls.NewListener(ln, hs.TLSConfig)
	}
	end := beside(ctx, srv.Background)
	defer end() // before the database is closed
	named := &named{log: log}
	defer named.set(false)
	at := func(a net.Addr) {
		if o.cert == "" && !loopback(a) {
			log.Warn("serving plain http on a network: anyone on it can read what is sent; see -tls-cert")
		}
		names := givenNames(o.host)
		if named.set(o.own != nil && !loopback(a)) {
			names = append(names, tabletName)
		}
		addresses, err := srv.Listening(ctx, a, names)
		if err != nil {
			log.Error("remember the addresses", "err", err)
		}
		for _, x := range addresses {
			fmt.Fprintf(errOut, "on the network: %s://%s\n", scheme, x)
		}
	}
	at(d.Addr())
	d.onMove(at)
	defer d.onMove(nil)
	if !o.again {
		fmt.Fprintf(out, "listening on %s://%s\n", scheme, o.shown(d))
	}
	done := make(chan error, 1)
	go func() { done <- hs.Serve(ln) }()
	if o.own != nil && o.open && !o.again {
		show(o.own.url()+start, errOut)
	}
	select {
	case err := <-done:
		return err
	case <-ctx.Done():
	}
	grace, stop := context.WithTimeout(context.Background(), 15*time.Second)
	defer stop()
	if err := hs.Shutdown(grace); err != nil {
		return fmt.Errorf("stop: %w", err)
	}
	if err := <-done; !errors.Is(err, http.ErrServerClosed) {
		return err
	}
	return nil
}

// shown is the address that is said: that of this computer for a start on a desktop.
func (o serveOptions) shown(d *door) string {
	if o.own != nil {
		return strings.TrimPrefix(o.own.url(), "http://")
	}
	return d.Addr().String()
}

// beside starts work, and returns what ends it and waits until it has ended.
func beside(ctx context.Context, work func(context.Context)) (end func()) {
	ctx, cancel := context.WithCancel(ctx)
	ended := make(chan struct{})
	go func() {
		defer close(ended)
		work(ctx)
	}()
	return func() {
		cancel()
		<-ended
	}
}

func newLogger(format string, w io.Writer) (*slog.Logger, error) {
	switch format {
	case "text":
		return slog.New(slog.NewTextHandler(w, nil)), nil
	case "json":
		return slog.New(slog.NewJSONHandler(w, nil)), nil
	}
	return nil, usageError(fmt.Sprintf("-log-format %q: it must be text or json", format))
}

// hostNames lists the names the server answers under: those of -host, and, when
// it listens on a network, this machine's addresses and name.
func hostNames(o serveOptions) []string {
	names := givenNames(o.host)
	host, _, err := net.SplitHostPort(o.addr)
	if err != nil {
		return names
	}
	ip := net.ParseIP(host)
	if ip != nil && !ip.IsUnspecified() {
		return append(names, ip.String())
	}
	if host != "" && ip == nil {
		return append(names, strings.ToLower(host))
	}
	addrs, err := net.InterfaceAddrs()
	if err != nil {
		return names
	}
	for _, a := range addrs {
		if n, ok := a.(*net.IPNet); ok {
			names = append(names, n.IP.String())
		}
	}
	if h, err := os.Hostname(); err == nil {
		names = append(names, strings.ToLower(h), strings.ToLower(h)+".local")
	}
	return names
}

// givenNames splits the names of -host.
func givenNames(list string) []string {
	var names []string
	for _, h := range strings.Split(list, ",") {
		if h = strings.ToLower(strings.TrimSpace(h)); h != "" {
			names = append(names, h)
		}
	}
	return names
}

func loopback(a net.Addr) bool {
	t, ok := a.(*net.TCPAddr)
	return ok && t.IP.IsLoopback()
}

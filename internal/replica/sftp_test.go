package replica

import (
	"errors"
	"fmt"
	"net"
	"net/url"
	"os"
	"os/exec"
	"os/user"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// sshd runs Debian's OpenSSH server on a free port with a key of its own and one
// of the user's, and returns the address of a folder on it.
func sshd(t *testing.T) (place, folder string) {
	t.Helper()
	const program = "/usr/sbin/sshd"
	if _, err := os.Stat(program); errors.Is(err, os.ErrNotExist) {
		if os.Getenv("REDDSIDE_SSHD") == "required" {
			t.Fatalf("%s is not installed, and REDDSIDE_SSHD requires it", program)
		}
		t.Skipf("%s is not installed (package openssh-server): the copy over SFTP is not tried", program)
	}
	dir := t.TempDir()
	keygen := func(name string) string {
		path := filepath.Join(dir, name)
		if out, err := exec.Command("ssh-keygen", "-q", "-t", "ed25519", "-N", "", "-f", path).CombinedOutput(); err != nil {
			t.Fatalf("ssh-keygen: %v: %s", err, out)
		}
		return path
	}
	host, own := keygen("host"), keygen("own")
	pub, err := os.ReadFile(own + ".pub")
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, "authorized"), pub, 0o600); err != nil {
		t.Fatal(err)
	}
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	addr := l.Addr().String()
	_ = l.Close()
	_, port, _ := net.SplitHostPort(addr)
	conf := fmt.Sprintf("Port %s\nListenAddress 127.0.0.1\nHostKey %s\nAuthorizedKeysFile %s\nPidFile none\n"+
		"StrictModes no\nUsePAM no\nPasswordAuthentication no\nPermitRootLogin yes\nSubsystem sftp internal-sftp\n",
		port, host, filepath.Join(dir, "authorized"))
	if err := os.WriteFile(filepath.Join(dir, "conf"), []byte(conf), 0o600); err != nil {
		t.Fatal(err)
	}
	_ = os.MkdirAll("/run/sshd", 0o755) // where the server separates its privileges
	cmd := exec.Command(program, "-D", "-f", filepath.Join(dir, "conf"))
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = cmd.Process.Kill(); _ = cmd.Wait() })
	until(t, "the SFTP server", func() bool {
		c, err := net.Dial("tcp", addr)
		if err == nil {
			_ = c.Close()
		}
		return err == nil
	})
	hostKey, err := os.ReadFile(host + ".pub")
	if err != nil {
		t.Fatal(err)
	}
	me, err := user.Current()
	if err != nil {
		t.Fatal(err)
	}
	folder = filepath.Join(dir, "copies")
	q := url.Values{"hostkey": {strings.TrimSpace(string(hostKey))}, "key": {own}}
	return (&url.URL{Scheme: "sftp", User: url.User(me.Username), Host: addr, Path: folder, RawQuery: q.Encode()}).String(),
		folder
}

// The copy lies on a server of another project, and only there.
func TestOverSFTP(t *testing.T) {
	place, folder := sshd(t)
	dir := t.TempDir()
	db := open(t, dir)
	r := start(t, db, place)
	addSite(t, db, "Alpha")
	until(t, "the first copy: "+r.State().Err, func() bool { return !r.State().InStepAt.IsZero() })
	addSite(t, db, "Beta")
	if _, err := r.Prove(t.Context()); err != nil {
		t.Fatal(err)
	}
	if files, err := os.ReadDir(folder); err != nil || len(files) == 0 {
		t.Errorf("the server holds %d files: %v", len(files), err)
	}
	r.Close()
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	p, err := ParsePlace(place)
	if err != nil {
		t.Fatal(err)
	}
	to := t.TempDir()
	if _, err := Restore(t.Context(), p, time.Time{}, to, time.Now()); err != nil {
		t.Fatal(err)
	}
	if got := names(t, to); got != "Alpha Beta" {
		t.Errorf("restored %q", got)
	}
}

// A server with another key is not the one that was named: nothing is sent to it.
func TestServerThatPosesAsAnother(t *testing.T) {
	place, folder := sshd(t)
	other, _ := sshd(t)
	u, _ := url.Parse(place)
	o, _ := url.Parse(other)
	q := u.Query()
	q.Set("hostkey", o.Query().Get("hostkey"))
	u.RawQuery = q.Encode()
	db := open(t, t.TempDir())
	defer db.Close()
	r := start(t, db, u.String())
	defer r.Close()
	addSite(t, db, "Alpha")
	until(t, "the refusal", func() bool { return r.State().Err != "" })
	if !r.State().InStepAt.IsZero() {
		t.Error("a copy was made at a server with another key")
	}
	if _, err := os.Stat(folder); err == nil {
		t.Error("something was sent to a server with another key")
	}
}

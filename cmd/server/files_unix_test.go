//go:build unix

package main

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"reddside/internal/store"
)

const filesChild = "REDDSIDE_FILES_CHILD"

// TestFilesChild is the child of the test below: it serves with room for 200 files
// and makes a backup when it is told to.
func TestFilesChild(t *testing.T) {
	dir := os.Getenv(filesChild)
	if dir == "" {
		t.Skip("the child of another test")
	}
	if err := syscall.Setrlimit(syscall.RLIMIT_NOFILE, &syscall.Rlimit{Cur: 200, Max: 200}); err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithCancel(t.Context())
	defer stop()
	go func() { _ = run(ctx, []string{"serve", "-addr", "127.0.0.1:0", "-data", dir}, os.Stdout, io.Discard) }()
	in := bufio.NewReader(os.Stdin)
	if _, err := in.ReadString('\n'); err != nil {
		t.Fatal(err)
	}
	db, err := store.Open(ctx, dir, store.Options{})
	if err == nil {
		_, err = db.Backup(ctx, filepath.Join(dir, "crowded.db"), time.Now())
	}
	fmt.Println("backup:", err)
	_, _ = in.ReadString('\n')
}

// With more connections than the program may open files, a backup still has the
// files it needs.
func TestBackupWhileCrowded(t *testing.T) {
	dir, _ := newLogbook(t)
	cmd := exec.Command(os.Args[0], "-test.run", "^TestFilesChild$")
	cmd.Env = append(os.Environ(), filesChild+"="+dir)
	in, err := cmd.StdinPipe()
	if err != nil {
		t.Fatal(err)
	}
	pipe, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	defer func() { _ = in.Close(); _ = cmd.Process.Kill(); _ = cmd.Wait() }()
	out := bufio.NewReader(pipe)
	line, err := out.ReadString('\n')
	addr, ok := strings.CutPrefix(strings.TrimSpace(line), "listening on http://")
	if err != nil || !ok {
		t.Fatalf("first line %q, %v", line, err)
	}
	for range 300 { // more than the files of the child; the queue of the system takes the rest
		c, err := net.DialTimeout("tcp", addr, time.Second)
		if err != nil {
			break
		}
		defer c.Close()
		_, _ = io.WriteString(c, "GET /healthz HTTP/1.1\r\nHost: localhost\r\n\r\n")
	}
	time.Sleep(time.Second)
	_, _ = io.WriteString(in, "now\n")
	if line, err = out.ReadString('\n'); err != nil || line != "backup: <nil>\n" {
		t.Errorf("%q, %v", line, err)
	}
}

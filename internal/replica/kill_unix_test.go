//go:build unix

package replica

import (
	"bufio"
	"context"
	"fmt"
	"log/slog"
	"math/rand/v2"
	"os"
	"os/exec"
	"strconv"
	"strings"
	"testing"
	"time"

	"reddside/internal/store"
)

// TestMain is also the process that is killed: with REDDSIDE_WRITER it stores
// schools as fast as it can and says each that is stored.
func TestMain(m *testing.M) {
	if dir := os.Getenv("REDDSIDE_WRITER"); dir != "" {
		write(dir, os.Getenv("REDDSIDE_PLACE"))
	}
	os.Exit(m.Run())
}

func write(dir, place string) {
	p, err := ParsePlace(place)
	if err != nil {
		panic(err)
	}
	db, err := store.Open(context.Background(), dir, store.Options{Now: time.Now(), Replicated: true})
	if err != nil {
		panic(err)
	}
	Start(db, p, slog.New(slog.DiscardHandler), time.Now)
	for i := 1; ; i++ {
		if err := putSite(db, fmt.Sprintf("School %d", i)); err != nil {
			panic(err)
		}
		fmt.Println(i)
		time.Sleep(5 * time.Millisecond)
	}
}

// A server is killed at any moment under load. Its copy, put in place elsewhere,
// is sound and lacks at most what was stored in the last second. REDDSIDE_KILLS
// says how often; a hundred take five minutes.
func TestKilledServerLosesASecond(t *testing.T) {
	kills := 3
	if n, err := strconv.Atoi(os.Getenv("REDDSIDE_KILLS")); err == nil {
		kills = n
	}
	var worst time.Duration
	for k := range kills {
		place := otherDisk(t)
		cmd := exec.Command(os.Args[0])
		cmd.Env = append(os.Environ(), "REDDSIDE_WRITER="+t.TempDir(), "REDDSIDE_PLACE="+place)
		out, err := cmd.StdoutPipe()
		if err != nil {
			t.Fatal(err)
		}
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		var stored []time.Time // when each was said to be stored
		end := time.AfterFunc(1500*time.Millisecond+rand.N(1500*time.Millisecond), func() { _ = cmd.Process.Kill() })
		for in := bufio.NewScanner(out); in.Scan(); {
			stored = append(stored, time.Now())
		}
		_ = cmd.Wait()
		end.Stop()
		p, err := ParsePlace(place)
		if err != nil {
			t.Fatal(err)
		}
		to := t.TempDir()
		if _, err := Restore(t.Context(), p, time.Time{}, to, time.Now()); err != nil {
			t.Fatalf("kill %d, after %d: %v", k, len(stored), err)
		}
		have := len(strings.Split(names(t, to), "School")) - 1
		if have > len(stored)+1 {
			t.Errorf("kill %d: %d schools in the copy, %d were stored", k, have, len(stored))
		}
		if have < len(stored) {
			lost := stored[len(stored)-1].Sub(stored[have])
			worst = max(worst, lost)
			if lost > time.Second {
				t.Errorf("kill %d: the last %v are lost, %d of %d", k, lost, len(stored)-have, len(stored))
			}
		}
	}
	t.Logf("%d kills, at most %v of what was stored last is missing", kills, worst)
}

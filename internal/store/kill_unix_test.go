//go:build unix

package store

import (
	"bufio"
	"context"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"reddside/internal/logbook"
	"reddside/internal/units"
)

const killWriters = 4

// writeUntilKilled is the child: it makes a season of its own and then saves
// checks from several goroutines, saying "id count" on standard output after
// each one is acknowledged.
func writeUntilKilled(dir string) error {
	ctx := context.Background()
	d, err := Open(ctx, dir, Options{Now: noon})
	if err != nil {
		return err
	}
	sites, err := d.Sites(ctx)
	if err != nil {
		return err
	}
	lots, err := d.Lots(ctx)
	if err != nil {
		return err
	}
	tank, err := d.CreateTank(ctx, coordinator, logbook.Tank{SiteID: sites[0].ID, Name: "T", Volume: 100}, noon,
		IdempotencyKey{})
	if err != nil {
		return err
	}
	s, err := d.CreateSeason(ctx, coordinator, logbook.Season{Label: "S", Tank: tank, Lot: lots[0]}, noon,
		IdempotencyKey{})
	if err != nil {
		return err
	}
	if _, err := d.CreateDelivery(ctx, coordinator, logbook.Delivery{SeasonID: s.ID, On: day, Count: 1000,
		Method: logbook.ByHand}, noon, Write{}); err != nil {
		return err
	}
	p := planted{DB: d, season: s}
	errs := make(chan error)
	for g := range killWriters {
		go func() {
			for n := g; ; n += killWriters {
				c := p.check(day.AddDays(n))
				c.DeadEggs = units.Some(n)
				saved, err := d.SaveCheck(ctx, coordinator, c, noon, Write{After: raiseForEach,
					Once: IdempotencyKey{Key: string(s.ID) + strconv.Itoa(n), Route: "r",
						Fingerprint: strconv.Itoa(n)}})
				if err != nil {
					errs <- err
					return
				}
				fmt.Printf("%s %d\n", saved.Row.ID, n) // one write call a line
			}
		}()
	}
	return <-errs
}

// TestKill: the program is killed in the middle of concurrent writes, again and
// again. Every acknowledged check is there, and every check is whole: with its
// flag, its key and its share of the season's revision.
func TestKill(t *testing.T) {
	dir := t.TempDir()
	p := plantIn(t, dir)
	if err := p.Close(); err != nil {
		t.Fatal(err)
	}
	kills := 200
	if testing.Short() {
		kills = 20
	}
	acked := map[string]int{}
	for range kills {
		killOnce(t, dir, acked)
	}
	d := open(t, dir)
	p.DB = d
	heads, err := d.SeasonHeads(t.Context(), SeasonFilter{})
	if err != nil {
		t.Fatal(err)
	}
	stored := map[string]int{}
	var ids []logbook.ID
	for _, h := range heads {
		ids = append(ids, h.ID)
	}
	if err := d.LoadSeasons(t.Context(), ids, func(s *logbook.Season) error {
		flags, err := d.Flags(t.Context(), s.ID, true)
		if err != nil {
			return err
		}
		if len(flags) != len(s.Checks) || s.Revision != int64(1+len(s.Deliveries)+len(s.Checks)) {
			t.Errorf("season %s: %d checks, %d flags, revision %d", s.ID, len(s.Checks), len(flags), s.Revision)
		}
		for _, c := range s.Checks {
			stored[string(c.ID)] = c.DeadEggs.V
			want := p.check(day.AddDays(c.DeadEggs.V))
			want.SeasonID, want.DeadEggs = s.ID, c.DeadEggs
			if !checkTable.same(&c, &want) {
				t.Errorf("half a check: %+v", c)
			}
		}
		return nil
	}); err != nil {
		t.Fatal(err)
	}
	for id, n := range acked {
		if got, ok := stored[id]; !ok || got != n {
			t.Errorf("acknowledged check %s (%d): stored %v, %d", id, n, ok, got)
		}
	}
	if n := p.count(t, "SELECT count(*) FROM idempotency"); n != len(stored) {
		t.Errorf("%d keys for %d checks", n, len(stored))
	}
	rep, err := d.Verify(t.Context(), noon)
	if err != nil || !rep.OK() {
		t.Errorf("verify: %+v, %v", rep.Problems, err)
	}
	if len(acked) < kills {
		t.Errorf("only %d checks acknowledged in %d runs: the test shows little", len(acked), kills)
	}
	t.Logf("%d kills, %d checks acknowledged, %d stored", kills, len(acked), len(stored))
}

// killOnce starts the child, lets it write for a moment and kills it.
func killOnce(t *testing.T, dir string, acked map[string]int) {
	t.Helper()
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), childEnv+"=kill", "REDDSIDE_STORE_DIR="+dir)
	var stderr strings.Builder
	cmd.Stderr = &stderr
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	var once sync.Once
	lines := bufio.NewScanner(out)
	for lines.Scan() {
		id, n, ok := strings.Cut(lines.Text(), " ")
		num, err := strconv.Atoi(n)
		if !ok || err != nil || len(id) != 26 {
			break // cut by the kill: not acknowledged
		}
		acked[id] = num
		once.Do(func() {
			time.AfterFunc(time.Duration(rand.IntN(30_000))*time.Microsecond, func() { _ = cmd.Process.Kill() })
		})
	}
	_ = cmd.Process.Kill()
	if err := cmd.Wait(); err == nil || stderr.Len() > 0 {
		t.Fatalf("child ended by itself: %v %s", err, stderr.String())
	}
}

package store

import (
	"context"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"
)

// Copies kept by Nightly: a local choice.
const (
	keepDays   = 14
	keepMonths = 12
)

const (
	nightlyPrefix = "reddside-"
	nightlyLayout = "20060102T150405Z"
)

// Nightly makes a verified backup in folder dir and then removes those of its
// own that are neither the last of one of the 14 latest days nor of one of the
// 12 latest months that have one. Other files in the folder are left alone, and
// so are its own that cannot be right, see Copy: they count for no day.
func (d *DB) Nightly(ctx context.Context, dir string, now time.Time) (Manifest, error) {
	m, err := d.Backup(ctx, filepath.Join(dir, nightlyPrefix+now.UTC().Format(nightlyLayout)+".db"), now)
	if err != nil {
		return m, err
	}
	list, err := ReadCopies(dir, now)
	if err != nil {
		return m, err
	}
	var names []string
	for _, c := range list.Sound().Daily() {
		names = append(names, c.File)
	}
	slices.Sort(names) // the layout sorts by time
	for _, name := range superfluous(names) {
		if err := errors.Join(os.Remove(filepath.Join(dir, name)),
			removeIfThere(filepath.Join(dir, name+".json"))); err != nil {
			return m, wrap("remove old backup", err)
		}
	}
	return m, nil
}

func nightlyTime(name string) (time.Time, bool) {
	stamp, ok := strings.CutPrefix(name, nightlyPrefix)
	if !ok {
		return time.Time{}, false
	}
	t, err := time.Parse(nightlyLayout+".db", stamp)
	return t, err == nil
}

// superfluous returns the names that need not be kept, of names oldest first.
func superfluous(names []string) []string {
	var out []string
	days, months := map[string]bool{}, map[string]bool{}
	for _, name := range slices.Backward(names) {
		t, _ := nightlyTime(name)
		day, month := t.Format("20060102"), t.Format("200601")
		keep := false
		if !days[day] && len(days) < keepDays {
			days[day], keep = true, true
		}
		if !months[month] && len(months) < keepMonths {
			months[month], keep = true, true
		}
		if !keep {
			out = append(out, name)
		}
	}
	return out
}

func removeIfThere(path string) error {
	if err := os.Remove(path); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	return nil
}

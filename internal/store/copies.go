package store

import (
	"encoding/json"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"
)

// Doubt is why a backup is not relied on.
type Doubt string

// The doubts.
const (
	Ahead      Doubt = "ahead"       // dated later than now: a clock was wrong, then or now
	NoManifest Doubt = "no_manifest" // nothing readable beside it says that it was checked
	Cut        Doubt = "cut"         // not as long as it was when it was checked
)

// ahead is how much later than now a backup may be dated: clocks are set by
// minutes. A local choice.
const ahead = time.Hour

// Copy is a backup in the folder of backups.
type Copy struct {
	Manifest       // File alone is sure when there is a doubt
	Doubt    Doubt // "" for one to rely on
}

// Copies is the folder of backups.
type Copies []Copy

// ReadCopies reads what the folder dir of backups holds and what the manifests
// say of it, oldest first as seen at now. It does not read the backups.
func ReadCopies(dir string, now time.Time) (Copies, error) {
	files, err := os.ReadDir(dir)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, wrap("list backups", err)
	}
	var list Copies
	for _, f := range files {
		if !f.IsDir() && strings.HasSuffix(f.Name(), ".db") {
			list = append(list, readCopy(dir, f.Name(), now))
		}
	}
	slices.SortStableFunc(list, func(a, b Copy) int { return a.CreatedAt.Compare(b.CreatedAt) })
	return list, nil
}

func readCopy(dir, name string, now time.Time) Copy {
	c := Copy{Manifest: Manifest{File: name}}
	named, _ := nightlyTime(name)
	b, err := os.ReadFile(filepath.Join(dir, name+".json"))
	if err != nil || json.Unmarshal(b, &c.Manifest) != nil || c.CreatedAt.IsZero() {
		c = Copy{Manifest: Manifest{File: name, CreatedAt: named}, Doubt: NoManifest}
	}
	c.File = name
	size, err := fileSize(filepath.Join(dir, name))
	switch latest := now.Add(ahead); {
	case c.CreatedAt.After(latest) || named.After(latest):
		c.Doubt = Ahead
		if named.After(c.CreatedAt) {
			c.CreatedAt = named
		}
	case c.Doubt == "" && (err != nil || size != c.Bytes):
		c.Doubt = Cut
	}
	return c
}

// Sound are the backups to rely on.
func (l Copies) Sound() Copies { return l.filter(func(c Copy) bool { return c.Doubt == "" }) }

// Doubtful are those with a doubt.
func (l Copies) Doubtful() Copies { return l.filter(func(c Copy) bool { return c.Doubt != "" }) }

// Daily are those that Nightly made.
func (l Copies) Daily() Copies {
	return l.filter(func(c Copy) bool { _, ok := nightlyTime(c.File); return ok })
}

// LastAt is when the newest was made, zero when there is none.
func (l Copies) LastAt() time.Time {
	if len(l) == 0 {
		return time.Time{}
	}
	return l[len(l)-1].CreatedAt
}

func (l Copies) filter(keep func(Copy) bool) (out Copies) {
	for _, c := range l {
		if keep(c) {
			out = append(out, c)
		}
	}
	return out
}

// OwnCopyName is the name of a backup that a person makes at now; Nightly lets
// it be.
func OwnCopyName(now time.Time) string {
	return nightlyPrefix + "own-" + now.UTC().Format(nightlyLayout) + ".db"
}

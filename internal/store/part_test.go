package store

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"testing"
	"time"
)

// What a killed backup left is removed by the next one; a copy that may still be
// written, and a file of somebody else, are left alone.
func TestNextBackupRemovesParts(t *testing.T) {
	p, dir := plant(t), t.TempDir()
	old := nightlyPrefix + noon.Add(-48*time.Hour).Format(nightlyLayout) + ".db.part"
	young := nightlyPrefix + noon.Add(-time.Minute).Format(nightlyLayout) + ".db.part"
	for name, at := range map[string]time.Time{old: noon.Add(-48 * time.Hour), young: noon.Add(-time.Minute),
		"mine.part": noon.Add(-48 * time.Hour)} {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, []byte("cut"), 0o600); err != nil {
			t.Fatal(err)
		}
		if err := os.Chtimes(path, at, at); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := p.Nightly(t.Context(), dir, noon); err != nil {
		t.Fatal(err)
	}
	for name, stays := range map[string]bool{old: false, young: true, "mine.part": true} {
		if _, err := os.Stat(filepath.Join(dir, name)); errors.Is(err, fs.ErrNotExist) == stays {
			t.Errorf("%s: stays is %v", name, !stays)
		}
	}
}

package store

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"

	"reddside/internal/logbook"
)

// Manifest says what is in a backup. It lies beside it as FILE.json.
type Manifest struct {
	File      string           `json:"file"`
	SHA256    string           `json:"sha256"`
	Bytes     int64            `json:"bytes"`
	CreatedAt time.Time        `json:"created_at"`
	Schema    int64            `json:"schema_version"`
	Rows      map[string]int64 `json:"rows"`
	// Source is a digest of the file that was copied, for a copy made before a migration.
	Source string `json:"source_sha256,omitempty"`
}

// Backup writes a verified copy of the logbook to path, which must not exist,
// while others go on reading and writing. The copy is checked and flushed
// under another name before it gets its own.
func (d *DB) Backup(ctx context.Context, path string, now time.Time) (Manifest, error) {
	pool := d.writer
	if pool == nil {
		return Manifest{}, logbook.Errorf(logbook.Unavailable, "error.read_only", nil)
	}
	// A connection of its own: a long copy must not hold up the checks.
	own, err := sql.Open("sqlite", dsn(d.path, "mode", "ro", "_busy_timeout", "5000"))
	if err != nil {
		return Manifest{}, wrap("backup", err)
	}
	defer own.Close()
	return backup(ctx, own, path, now)
}

func backup(ctx context.Context, from *sql.DB, path string, now time.Time) (m Manifest, err error) {
	defer func() { err = wrap("backup", err) }()
	if _, err := os.Stat(path); err == nil {
		return m, logbook.Errorf(logbook.Conflict, "error.backup.exists", logbook.Args{"File": filepath.Base(path)})
	}
	dir := filepath.Dir(path)
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return m, err
	}
	tmp := path + ".part"
	if err := removeParts(dir, tmp, now); err != nil {
		return m, err
	}
	defer os.Remove(tmp) // gone already when all went well
	// SQLite writes into an empty file; made here so that its mode is right from the start.
	f, err := os.OpenFile(tmp, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
	if err != nil {
		return m, err
	}
	if err := f.Close(); err != nil {
		return m, err
	}
	if _, err := from.ExecContext(ctx, "VACUUM INTO ?", tmp); err != nil {
		return m, err
	}
	if m, err = inspect(ctx, tmp); err != nil {
		return m, err
	}
	if err := flush(tmp); err != nil {
		return m, err
	}
	m.File, m.CreatedAt = filepath.Base(path), now.UTC().Truncate(time.Second)
	if m.SHA256, m.Bytes, err = fileSum(tmp); err != nil {
		return m, err
	}
	if err := writeManifest(path+".json", m); err != nil {
		return m, err
	}
	if err := os.Rename(tmp, path); err != nil {
		return m, err
	}
	return m, flush(dir)
}

// partAge is how old the unfinished copy of another backup is when nobody can be
// writing it any more: a copy takes minutes. A local choice.
const partAge = time.Hour

// removeParts removes tmp and what killed backups of Nightly left in a folder.
func removeParts(dir, tmp string, now time.Time) error {
	files, err := os.ReadDir(dir)
	if err != nil {
		return err
	}
	for _, f := range files {
		name, part := strings.CutSuffix(f.Name(), ".part")
		if _, ours := nightlyTime(name); !part || !ours || filepath.Join(dir, f.Name()) == tmp {
			continue
		}
		if info, err := f.Info(); err == nil && now.Sub(info.ModTime()) > partAge {
			// One that cannot be removed stops no backup; its database journal goes with it.
			_ = os.Remove(filepath.Join(dir, f.Name()))
			_ = os.Remove(filepath.Join(dir, f.Name()+"-journal"))
		}
	}
	return removeIfThere(tmp)
}

// inspect checks a database file whole and counts its rows.
func inspect(ctx context.Context, path string) (m Manifest, err error) {
	db, err := sql.Open("sqlite", dsn(path, "mode", "ro", "immutable", "1", "_dqs", "0"))
	if err != nil {
		return m, err
	}
	defer db.Close()
	found, err := checkFile(ctx, db)
	if err != nil {
		if !isDamage(err) {
			return m, err
		}
		found = []string{err.Error()}
	}
	if len(found) > 0 {
		return m, &logbook.Error{Kind: logbook.Unavailable, Key: "error.backup.damaged",
			Args: logbook.Args{"File": filepath.Base(path)}, Err: &Damaged{Detail: found}}
	}
	tables, err := pragmaText(ctx, db, "SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'sqlite_%' ORDER BY name")
	if err != nil {
		return m, err
	}
	m.Rows = make(map[string]int64, len(tables))
	for _, t := range tables {
		var n int64
		if err := db.QueryRowContext(ctx, `SELECT count(*) FROM "`+t+`"`).Scan(&n); err != nil {
			return m, err
		}
		m.Rows[t] = n
	}
	if _, ok := m.Rows["goose_db_version"]; !ok {
		return m, logbook.Errorf(logbook.Invalid, "error.backup.other", logbook.Args{"File": filepath.Base(path)})
	}
	err = db.QueryRowContext(ctx, "SELECT max(version_id) FROM goose_db_version").Scan(&m.Schema)
	return m, err
}

// checkFile returns what SQLite finds wrong: pages, indexes, CHECKs and references.
func checkFile(ctx context.Context, db *sql.DB) ([]string, error) {
	found, err := pragmaText(ctx, db, "PRAGMA integrity_check")
	if err != nil {
		return nil, err
	}
	if len(found) == 1 && found[0] == "ok" {
		found = nil
	}
	refs, err := pragmaText(ctx, db, "PRAGMA foreign_key_check")
	if err != nil {
		return nil, err
	}
	for _, r := range refs {
		found = append(found, "reference without a row: "+r)
	}
	return found, nil
}

// flush makes a file or folder safe against a power cut.
func flush(path string) error {
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	err = f.Sync()
	if st, serr := f.Stat(); serr == nil && st.IsDir() {
		err = nil // not every system can flush a folder
	}
	return errors.Join(err, f.Close())
}

func fileSum(path string) (sum string, size int64, err error) {
	f, err := os.Open(path)
	if err != nil {
		return "", 0, err
	}
	defer f.Close()
	h := sha256.New()
	if size, err = io.Copy(h, f); err != nil {
		return "", 0, err
	}
	return hex.EncodeToString(h.Sum(nil)), size, nil
}

func writeManifest(path string, m Manifest) error {
	b, err := json.MarshalIndent(m, "", "  ")
	if err != nil {
		return err
	}
	if err := os.WriteFile(path, append(b, '\n'), 0o600); err != nil {
		return fmt.Errorf("write manifest: %w", err)
	}
	return flush(path)
}

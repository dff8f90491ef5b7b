package imports

import (
	"bytes"
	"crypto/subtle"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"reddside/internal/logbook"
	"reddside/internal/store"
)

// Bounds of the spool; local choices.
const (
	UploadLifetime = time.Hour
	UploadsAtOnce  = 20 // files of everybody
	UploadsOfOne   = 3  // files of one session
	uploadSuffix   = ".upload"
)

// Upload is a file that waits for a person's answers. Only the session that
// sent it can see it again.
type Upload struct {
	ID       string        `json:"-"`
	Owner    string        `json:"owner"` // hash of the session's token
	SeasonID logbook.ID    `json:"season"`
	Kind     string        `json:"kind"` // uploadReadings or uploadChecks
	Name     string        `json:"name"` // as sent, made harmless
	At       time.Time     `json:"at"`
	Data     []byte        `json:"-"`
	age      time.Duration // at the time of listing
}

// The kinds of file.
const (
	uploadReadings = "readings"
	uploadChecks   = "checks"
)

// Spool keeps uploads in a folder, each as one file: a line of JSON, then the
// bytes. No part of a path comes from a person.
type Spool struct{ Dir string }

func (s *Service) spool() Spool { return SpoolOf(s.DB) }

// SpoolOf is the folder of uploads beside a database.
func SpoolOf(db *store.DB) Spool { return Spool{filepath.Join(filepath.Dir(db.Path()), "uploads")} }

// Put stores an upload and returns its random name. Old files go first.
func (sp Spool) Put(u Upload, now time.Time) (string, error) {
	if err := os.MkdirAll(sp.Dir, 0o700); err != nil {
		return "", diskError(err)
	}
	if err := sp.clean(u.Owner, now); err != nil {
		return "", diskError(err)
	}
	u.At = now.UTC()
	head, err := json.Marshal(u)
	if err != nil {
		return "", fmt.Errorf("keep upload: %w", err)
	}
	id := string(logbook.NewID())
	path := filepath.Join(sp.Dir, id+uploadSuffix)
	if err := os.WriteFile(path+".part", slices.Concat(head, []byte("\n"), u.Data), 0o600); err != nil {
		return "", diskError(errors.Join(err, os.Remove(path+".part")))
	}
	if err := os.Rename(path+".part", path); err != nil {
		return "", diskError(err)
	}
	return id, nil
}

func diskError(err error) error {
	return &logbook.Error{Kind: logbook.Unavailable, Key: "import.no_room", Err: err}
}

// get returns an upload of an owner for a season; ok is false when there is
// none, when it is too old, or when it is somebody else's.
func (sp Spool) get(id, owner string, season logbook.ID, now time.Time) (u Upload, ok bool, err error) {
	if !spoolName(id) {
		return Upload{}, false, nil
	}
	data, err := os.ReadFile(filepath.Join(sp.Dir, id+uploadSuffix))
	if errors.Is(err, fs.ErrNotExist) {
		return Upload{}, false, nil
	}
	if err != nil {
		return Upload{}, false, fmt.Errorf("read upload: %w", err)
	}
	head, body, _ := bytes.Cut(data, []byte("\n"))
	if err := json.Unmarshal(head, &u); err != nil {
		return Upload{}, false, fmt.Errorf("read upload: %w", err)
	}
	u.ID, u.Data = id, body
	same := subtle.ConstantTimeCompare([]byte(u.Owner), []byte(owner)) == 1
	return u, same && u.SeasonID == season && now.Sub(u.At) < UploadLifetime, nil
}

// spoolName reports whether a name is one that put makes.
func spoolName(id string) bool {
	return len(id) == 26 && strings.Trim(id, "abcdefghijklmnopqrstuvwxyz0123456789") == ""
}

// Expire removes files past their time and returns the others.
func (sp Spool) Expire(now time.Time) ([]Upload, error) {
	entries, err := os.ReadDir(sp.Dir)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, fmt.Errorf("list uploads: %w", err)
	}
	var all []Upload
	for _, e := range entries {
		path := filepath.Join(sp.Dir, e.Name())
		u, err := readHead(path)
		if err != nil || now.Sub(u.At) >= UploadLifetime {
			// A file that is being written has no head yet; an abandoned one is old.
			if info, ierr := e.Info(); err == nil || ierr == nil && time.Since(info.ModTime()) >= UploadLifetime {
				_ = os.Remove(path)
			}
			continue
		}
		u.ID, u.age = path, now.Sub(u.At)
		all = append(all, u)
	}
	return all, nil
}

// clean makes room for one more file of an owner: files past their time go, and
// the oldest where there are too many.
func (sp Spool) clean(owner string, now time.Time) error {
	all, err := sp.Expire(now)
	if err != nil {
		return err
	}
	slices.SortFunc(all, func(a, b Upload) int { return int(b.age - a.age) })
	mine := 0
	for _, u := range all {
		if u.Owner == owner {
			mine++
		}
	}
	total := len(all)
	for _, u := range all {
		if total < UploadsAtOnce && (u.Owner != owner || mine < UploadsOfOne) {
			continue
		}
		if u.Owner == owner {
			mine--
		}
		total--
		_ = os.Remove(u.ID)
	}
	return nil
}

func readHead(path string) (u Upload, err error) {
	f, err := os.Open(path)
	if err != nil {
		return u, err
	}
	defer f.Close()
	err = json.NewDecoder(f).Decode(&u)
	return u, err
}

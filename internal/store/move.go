package store

import (
	"archive/zip"
	"context"
	"encoding/json"
	"errors"
	"io"
	"os"
	"path/filepath"
	"time"

	"reddside/internal/logbook"
)

// A logbook goes to another computer as one file: a zip of a verified backup and
// its manifest, so that a file cut or changed on its way is told from a whole one.

// MaxMove is how long a file from another computer, and the logbook in it, may be,
// in bytes: far above forty seasons with pictures. A local choice.
const MaxMove = 2 << 30

// MoveName is the name of a file for another computer.
func MoveName(now time.Time) string {
	return "reddside-move-" + now.UTC().Format(nightlyLayout) + ".zip"
}

// PackMove writes a file for another computer to w. The backup is made and checked
// beside the logbook first, so that nothing is written when it fails.
func (d *DB) PackMove(ctx context.Context, now time.Time) (send func(io.Writer) error, done func(), err error) {
	dir, err := os.MkdirTemp(filepath.Dir(d.path), ".moving-out-*")
	if err != nil {
		return nil, nil, wrap("make a file to move", err)
	}
	done = func() { _ = os.RemoveAll(dir) }
	path := filepath.Join(dir, FileName)
	if _, err := d.Backup(ctx, path, now); err != nil {
		done()
		return nil, nil, err
	}
	return func(w io.Writer) error {
		z := zip.NewWriter(w)
		for _, name := range []string{path + ".json", path} {
			if err := addFile(z, name, now); err != nil {
				return err
			}
		}
		return z.Close()
	}, done, nil
}

func addFile(z *zip.Writer, path string, now time.Time) error {
	to, err := z.CreateHeader(&zip.FileHeader{Name: filepath.Base(path), Method: zip.Deflate, Modified: now})
	if err != nil {
		return err
	}
	from, err := os.Open(path)
	if err != nil {
		return err
	}
	defer from.Close()
	_, err = io.Copy(to, from)
	return err
}

// UnpackMove takes the backup out of a file from another computer, which name calls
// for people, into the folder dir, and checks it like Restore, against its manifest
// too. The caller removes dir.
func UnpackMove(ctx context.Context, file, name, dir string) (backup string, err error) {
	defer func() {
		var e *logbook.Error
		if errors.As(err, &e) && e.Args["File"] != nil {
			e.Args["File"] = name
		}
	}()
	z, err := zip.OpenReader(file)
	if err != nil {
		return "", logbook.Errorf(logbook.Invalid, "error.move.other", logbook.Args{"File": name})
	}
	defer z.Close()
	backup = filepath.Join(dir, FileName)
	var m Manifest
	for _, part := range []string{FileName + ".json", FileName} {
		err := takeFile(z, part, filepath.Join(dir, part))
		switch {
		case errors.Is(err, os.ErrNotExist):
			return "", logbook.Errorf(logbook.Invalid, "error.move.other", logbook.Args{"File": name})
		case errors.Is(err, zip.ErrChecksum), errors.Is(err, zip.ErrFormat), errors.Is(err, errTooLong),
			errors.Is(err, io.ErrUnexpectedEOF):
			return "", &logbook.Error{Kind: logbook.Unavailable, Key: "error.move.damaged",
				Args: logbook.Args{"File": name}, Err: err}
		case err != nil:
			return "", wrap("take out the logbook", err)
		}
	}
	b, err := os.ReadFile(backup + ".json")
	if err != nil || json.Unmarshal(b, &m) != nil || m.SHA256 == "" {
		return "", logbook.Errorf(logbook.Invalid, "error.move.other", logbook.Args{"File": name})
	}
	return backup, checkBackup(ctx, backup)
}

var errTooLong = errors.New("longer than a logbook may be")

func takeFile(z *zip.ReadCloser, name, to string) error {
	from, err := z.Open(name)
	if err != nil {
		return err
	}
	defer from.Close()
	out, err := os.OpenFile(to, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
	if err != nil {
		return err
	}
	n, err := io.Copy(out, io.LimitReader(from, MaxMove+1))
	if err == nil && n > MaxMove {
		err = errTooLong
	}
	return errors.Join(err, out.Close())
}

package req

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io/fs"
	"net/http"
	"path"
	"strings"
	"time"

	"reddside/static"
)

// assets serves the embedded files under a path that carries the hash of them
// all, so that browsers may keep them for ever and never show an old one.
type assets struct {
	Prefix string // "/static/<hash>/"
	files  map[string][]byte
}

// newAssets reads the files of static and the style sheets of the areas. Two
// files of one name are an error.
func newAssets(areas []fs.FS) (*assets, error) {
	a := &assets{files: map[string][]byte{}}
	sum := sha256.New()
	for _, files := range append([]fs.FS{static.Files}, areas...) {
		err := fs.WalkDir(files, ".", func(name string, d fs.DirEntry, err error) error {
			if err != nil || d.IsDir() {
				return err
			}
			if _, twice := a.files[name]; twice {
				return fmt.Errorf("two files are called %s", name)
			}
			data, err := fs.ReadFile(files, name)
			if err != nil {
				return err
			}
			a.files[name] = data
			sum.Write([]byte(name))
			sum.Write(data)
			return nil
		})
		if err != nil {
			return nil, err
		}
	}
	a.Prefix = "/static/" + hex.EncodeToString(sum.Sum(nil)[:8]) + "/"
	return a, nil
}

func (a *assets) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	name, current := strings.CutPrefix(r.URL.Path, a.Prefix)
	if !current {
		// A page from before an update asks for its old files: send the new
		// ones, not to be kept.
		_, name, _ = strings.Cut(strings.TrimPrefix(r.URL.Path, "/static/"), "/")
	}
	data, ok := a.files[path.Clean(name)]
	if !ok {
		http.NotFound(w, r)
		return
	}
	if current {
		w.Header().Set("Cache-Control", "public, max-age=31536000, immutable")
	} else {
		w.Header().Set("Cache-Control", "no-cache")
	}
	http.ServeContent(w, r, name, time.Time{}, bytes.NewReader(data))
}

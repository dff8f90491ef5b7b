package main

import (
	"archive/tar"
	"archive/zip"
	"bytes"
	"compress/gzip"
	"crypto/md5"
	_ "embed"
	"fmt"
	"io"
	"io/fs"
	"path"
	"strings"
	"time"
)

// packed is a file of an archive.
type packed struct {
	Name string
	Mode fs.FileMode
	Data []byte
}

// tarGz writes files below a folder, with the folders on the way.
func tarGz(w io.Writer, below string, list []packed, at time.Time) error {
	gz, err := gzip.NewWriterLevel(w, gzip.BestCompression)
	if err != nil {
		return err
	}
	tw := tar.NewWriter(gz)
	header := func(name string, kind byte, mode fs.FileMode, size int) error {
		if below == "./" {
			name = "./" + name
		}
		return tw.WriteHeader(&tar.Header{Typeflag: kind, Name: name, Mode: int64(mode), Size: int64(size), ModTime: at,
			Uname: "root", Gname: "root", Format: tar.FormatUSTAR})
	}
	made := map[string]bool{".": true}
	var folder func(name string) error
	folder = func(name string) error {
		if made[name] {
			return nil
		}
		made[name] = true
		if err := folder(path.Dir(name)); err != nil {
			return err
		}
		return header(name+"/", tar.TypeDir, 0o755, 0)
	}
	for _, f := range list {
		name := path.Join(below, f.Name)
		if err := folder(path.Dir(name)); err != nil {
			return err
		}
		if err := header(name, tar.TypeReg, f.Mode, len(f.Data)); err != nil {
			return err
		}
		if _, err := tw.Write(f.Data); err != nil {
			return err
		}
	}
	if err := tw.Close(); err != nil {
		return err
	}
	return gz.Close()
}

func zipped(w io.Writer, below string, list []packed, at time.Time) error {
	zw := zip.NewWriter(w)
	for _, f := range list {
		h := &zip.FileHeader{Name: path.Join(below, f.Name), Method: zip.Deflate, Modified: at}
		h.SetMode(f.Mode)
		fw, err := zw.CreateHeader(h)
		if err != nil {
			return err
		}
		if _, err := fw.Write(f.Data); err != nil {
			return err
		}
	}
	return zw.Close()
}

// Files of the Debian package.
var (
	//go:embed files/reddside.service
	unit []byte
	//go:embed files/reddside.default
	defaults []byte
	//go:embed files/postinst
	postinst []byte
	//go:embed files/prerm
	prerm []byte
	//go:embed files/postrm
	postrm []byte
)

// debVersion is a version that Debian orders: one that begins with a digit stays;
// a bare commit stands behind the time of it.
func debVersion(version string, at time.Time) string {
	v := strings.ReplaceAll(strings.TrimPrefix(version, "v"), "-", "+")
	if strings.Contains(v, ".") && v[0] >= '0' && v[0] <= '9' {
		return v
	}
	return "0~" + at.Format("20060102.150405") + "." + v
}

// debian writes the package (deb(5), read): the program, a systemd unit that runs
// it as a user of its own, and the scripts that make that user. The logbook lies
// in /var/lib/reddside.
func debian(w io.Writer, arch, version string, at time.Time, program, copyright []byte) error {
	data := []packed{{"usr/bin/reddside", 0o755, program},
		{"usr/lib/systemd/system/reddside.service", 0o644, unit}, {"etc/default/reddside", 0o644, defaults},
		{"usr/share/doc/reddside/copyright", 0o644, copyright}}
	var size int
	var sums strings.Builder
	for _, f := range data {
		size += len(f.Data)
		fmt.Fprintf(&sums, "%x  %s\n", md5.Sum(f.Data), f.Name) // as the format wants it
	}
	control := fmt.Sprintf(`Package: reddside
Version: %s
Architecture: %s
Maintainer: Reddside <reddside@localhost>
Installed-Size: %d
Depends: adduser
Section: misc
Priority: optional
Description: logbook and decision aid for classroom salmonid hatcheries
 It keeps the daily log of eggs and fish in school rooms and says what it means:
 alarms, forecasts, what to do, and the report for the permit.
`, debVersion(version, at), arch, (size+1023)/1024)
	var members [2]bytes.Buffer
	for i, list := range [][]packed{{{"control", 0o644, []byte(control)}, {"md5sums", 0o644, []byte(sums.String())},
		{"conffiles", 0o644, []byte("/etc/default/reddside\n")}, {"postinst", 0o755, postinst}, {"prerm", 0o755, prerm},
		{"postrm", 0o755, postrm}}, data} {
		if err := tarGz(&members[i], "./", list, at); err != nil {
			return err
		}
	}
	if _, err := io.WriteString(w, "!<arch>\n"); err != nil {
		return err
	}
	for _, m := range []packed{{Name: "debian-binary", Data: []byte("2.0\n")},
		{Name: "control.tar.gz", Data: members[0].Bytes()}, {Name: "data.tar.gz", Data: members[1].Bytes()}} {
		if err := member(w, m, at); err != nil {
			return err
		}
	}
	return nil
}

// member writes one file of an ar archive, as Debian's packages are.
func member(w io.Writer, f packed, at time.Time) error {
	_, err := fmt.Fprintf(w, "%-16s%-12d%-6d%-6d%-8s%-10d`\n", f.Name, at.Unix(), 0, 0, "100644", len(f.Data))
	if err != nil {
		return err
	}
	if len(f.Data)%2 == 1 { // members begin at even places
		f.Data = append(f.Data[:len(f.Data):len(f.Data)], '\n')
	}
	_, err = w.Write(f.Data)
	return err
}

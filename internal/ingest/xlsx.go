package ingest

import (
	"archive/zip"
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"path"
	"regexp"
	"strconv"
	"strings"
)

// EncXLSX is the name of a spreadsheet where the encoding of a text would stand.
const EncXLSX = "XLSX"

// Bounds on a spreadsheet, so that a small file cannot unpack to a huge one; local
// choices. A reading each minute for a year takes about 40 MB of XML.
const (
	maxPart   = 128 << 20 // bytes of one part
	maxSheets = 50
)

// book is a spreadsheet (ECMA-376, Office Open XML) of which one sheet was written
// as text: a line for each row, tabs between cells, dates as YYYY-MM-DD HH:MM:SS.
type book struct {
	sheets []string // their names
	chosen int      // 1 is the first
	text   []byte

	files  map[string]*zip.File
	shared []string
	dates  []shows // by style
	late   bool    // days count from 1904
}

// shows is what a style makes of a number.
type shows int

const (
	showsNumber shows = iota
	showsDate
	showsTime // with or without its date
)

var errTooBig = errors.New("ingest: part of a spreadsheet too big")

// openBook reads a spreadsheet; nil for a file that is none. Without a wanted
// sheet it takes the first one in which dates stand.
func openBook(data []byte, want int) (*book, error) {
	if !bytes.HasPrefix(data, []byte("PK\x03\x04")) {
		return nil, nil
	}
	b, err := readBook(data, want)
	var fe *FileError
	switch {
	case errors.Is(err, errTooBig):
		return nil, refuseFile("ingest.file.too_big", map[string]any{"Megabytes": MaxBytes >> 20})
	case errors.As(err, &fe):
		return nil, err
	case err != nil:
		return nil, refuseFile("ingest.file.spreadsheet", nil)
	}
	return b, nil
}

func readBook(data []byte, want int) (*book, error) {
	if len(data) > MaxBytes {
		return nil, errTooBig
	}
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		return nil, err
	}
	b := &book{files: map[string]*zip.File{}}
	for _, f := range z.File {
		b.files[f.Name] = f
	}
	targets, err := b.workbook()
	if err != nil {
		return nil, err
	}
	if err := b.styles(); err != nil {
		return nil, err
	}
	if err := b.strings(); err != nil {
		return nil, err
	}
	if want >= 1 && want <= len(targets) {
		b.chosen = want
		b.text, err = b.sheet(targets[want-1])
		return b, err
	}
	for i, target := range targets {
		text, err := b.sheet(target)
		if err != nil {
			return nil, err
		}
		if i == 0 {
			b.chosen, b.text = 1, text
		}
		if _, err := newTable(string(text), EncXLSX); err == nil {
			b.chosen, b.text = i+1, text
			break
		}
	}
	return b, nil
}

// each calls do for every start of an element of a part, with its decoder.
func (b *book) each(name string, do func(d *xml.Decoder, e xml.StartElement) error) error {
	f := b.files[name]
	if f == nil {
		return io.ErrUnexpectedEOF
	}
	if f.UncompressedSize64 > maxPart {
		return errTooBig
	}
	r, err := f.Open()
	if err != nil {
		return err
	}
	defer r.Close()
	limited := &io.LimitedReader{R: r, N: maxPart}
	d := xml.NewDecoder(limited)
	for {
		t, err := d.Token()
		if limited.N <= 0 {
			return errTooBig
		}
		if err == io.EOF {
			return nil
		}
		if err != nil {
			return err
		}
		if e, ok := t.(xml.StartElement); ok {
			if err := do(d, e); err != nil {
				return err
			}
		}
	}
}

func attr(e xml.StartElement, name string) string {
	for _, a := range e.Attr {
		if a.Name.Local == name {
			return a.Value
		}
	}
	return ""
}

// workbook reads the names of the sheets and returns where they are.
func (b *book) workbook() (targets []string, err error) {
	where := map[string]string{}
	if err := b.each("xl/_rels/workbook.xml.rels", func(_ *xml.Decoder, e xml.StartElement) error {
		if e.Name.Local == "Relationship" {
			t := attr(e, "Target")
			if !strings.HasPrefix(t, "/") {
				t = "/xl/" + t
			}
			where[attr(e, "Id")] = strings.TrimPrefix(path.Clean(t), "/")
		}
		return nil
	}); err != nil {
		return nil, err
	}
	err = b.each("xl/workbook.xml", func(_ *xml.Decoder, e xml.StartElement) error {
		switch e.Name.Local {
		case "workbookPr":
			v := attr(e, "date1904")
			b.late = v == "1" || v == "true"
		case "sheet":
			for _, a := range e.Attr {
				if t, ok := where[a.Value]; ok && a.Name.Local == "id" && strings.Contains(t, "worksheets") &&
					len(targets) < maxSheets {
					targets = append(targets, t)
					b.sheets = append(b.sheets, cut(attr(e, "name")))
				}
			}
		}
		return nil
	})
	if err == nil && len(targets) == 0 {
		err = io.ErrUnexpectedEOF
	}
	return targets, err
}

var (
	quotedFormat = regexp.MustCompile(`"[^"]*"|\\.|\[[^\]]*\]|_.|\*.`)
	dateFormat   = regexp.MustCompile(`(?i)[ymd]`)
	clockFormat  = regexp.MustCompile(`(?i)[hs]`)
)

// styles says which styles show dates: the built-in formats 14 to 22, 27 to 36, 45
// to 47 and 50 to 58 (ECMA-376 part 1, 18.8.30), and own formats with their letters.
func (b *book) styles() error {
	if b.files["xl/styles.xml"] == nil {
		return nil
	}
	own := map[string]shows{}
	inside := false
	return b.each("xl/styles.xml", func(_ *xml.Decoder, e xml.StartElement) error {
		switch e.Name.Local {
		case "numFmt":
			code := quotedFormat.ReplaceAllString(attr(e, "formatCode"), "")
			switch {
			case clockFormat.MatchString(code):
				own[attr(e, "numFmtId")] = showsTime
			case dateFormat.MatchString(code):
				own[attr(e, "numFmtId")] = showsDate
			}
		case "cellXfs":
			inside = true
		case "cellStyles", "dxfs":
			inside = false
		case "xf":
			if !inside {
				return nil
			}
			id := attr(e, "numFmtId")
			n, _ := strconv.Atoi(id)
			s := own[id]
			switch {
			case s != showsNumber:
			case n >= 18 && n <= 22 || n >= 32 && n <= 33 || n >= 45 && n <= 47:
				s = showsTime
			case n >= 14 && n <= 17 || n >= 27 && n <= 36 || n >= 50 && n <= 58:
				s = showsDate
			}
			b.dates = append(b.dates, s)
		}
		return nil
	})
}

// strings reads the table of texts.
func (b *book) strings() error {
	if b.files["xl/sharedStrings.xml"] == nil {
		return nil
	}
	return b.each("xl/sharedStrings.xml", func(d *xml.Decoder, e xml.StartElement) error {
		if e.Name.Local != "si" {
			return nil
		}
		s, err := words(d)
		b.shared = append(b.shared, s)
		return err
	})
}

// words is the text inside an element, without its phonetic guide.
func words(d *xml.Decoder) (string, error) {
	var out strings.Builder
	depth, guide := 1, 0
	for depth > 0 {
		t, err := d.Token()
		if err != nil {
			return "", err
		}
		switch t := t.(type) {
		case xml.StartElement:
			depth++
			if t.Name.Local == "rPh" && guide == 0 {
				guide = depth
			}
		case xml.EndElement:
			if depth == guide {
				guide = 0
			}
			depth--
		case xml.CharData:
			if guide == 0 {
				out.Write(t)
			}
		}
	}
	return out.String(), nil
}

package ingest

import (
	"archive/zip"
	"bytes"
	"errors"
	"strings"
	"testing"
)

// A small spreadsheet that unpacks to a huge one is refused without the memory.
func TestSpreadsheetBombsAreRefused(t *testing.T) {
	pack := func(name string, head, fill string, n int) []byte {
		var out bytes.Buffer
		z := zip.NewWriter(&out)
		for part, text := range map[string]string{
			"xl/workbook.xml":            `<workbook xmlns:r="r"><sheets><sheet name="a" r:id="x"/></sheets></workbook>`,
			"xl/_rels/workbook.xml.rels": `<R><Relationship Id="x" Target="worksheets/a.xml"/></R>`,
			"xl/worksheets/a.xml":        `<worksheet/>`,
			"xl/sharedStrings.xml":       `<sst/>`,
		} {
			w, err := z.Create(part)
			if err != nil {
				t.Fatal(err)
			}
			if part != name {
				_, _ = w.Write([]byte(text))
				continue
			}
			_, _ = w.Write([]byte(head))
			for range n {
				_, _ = w.Write([]byte(fill))
			}
		}
		if err := z.Close(); err != nil {
			t.Fatal(err)
		}
		return out.Bytes()
	}
	mega := strings.Repeat(" ", 1<<20)
	for name, data := range map[string][]byte{
		"blank sheet": pack("xl/worksheets/a.xml", "<worksheet>", mega, 200),
		"long string": pack("xl/sharedStrings.xml", "<sst><si><t>", mega, 200),
		"far row":     pack("xl/worksheets/a.xml", `<worksheet><row r="2000000000"><c><v>1</v></c></row>`, "", 0),
		"far column": pack("xl/worksheets/a.xml",
			`<worksheet><row r="1"><c r="ZZZZZZZZ1"><v>1</v></c></row></worksheet>`, "", 0),
		"cut off":     pack("xl/worksheets/a.xml", "<worksheet><row>", "", 0),
		"no workbook": pack("xl/workbook.xml", "", "", 0),
		"many rows": pack("xl/worksheets/a.xml", "<worksheet>", `<row><c t="str"><v>`+strings.Repeat("a", 1000)+
			`</v></c></row>`, 25_000),
		"nested parts": pack("xl/sharedStrings.xml", "", strings.Repeat("<a>", 1<<16), 1),
	} {
		var err error
		mb := allocated(func() { _, err = Detect(data, Answers{}) })
		var fe *FileError
		if !errors.As(err, &fe) {
			t.Errorf("%s: %v", name, err)
		}
		if len(data) < 1<<20 && mb > 1500 {
			t.Errorf("%s: %d KB took %.0f MB", name, len(data)>>10, mb)
		}
		t.Logf("%s: %d KB, %.0f MB, %v", name, len(data)>>10, mb, err)
	}
}

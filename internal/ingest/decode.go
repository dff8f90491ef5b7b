package ingest

import (
	"bytes"
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/encoding/charmap"
	xunicode "golang.org/x/text/encoding/unicode"
)

// Limits on a file; all are local choices. A reading each minute for a year is
// 525,600 rows and about 15 MB.
const (
	MaxBytes   = 20 << 20
	MaxRows    = 600_000
	MaxColumns = 1_000
	MaxLine    = 32 << 10 // bytes; a thousand columns of UTF-16 fit
)

// Encoding names as the preview shows them.
const (
	EncUTF8    = "UTF-8"
	EncUTF8BOM = "UTF-8 (BOM)"
	EncUTF16LE = "UTF-16LE"
	EncUTF16BE = "UTF-16BE"
	Enc1252    = "Windows-1252"
)

// textOf is the text of a file, or of one sheet of a spreadsheet.
func textOf(data []byte, sheet int) (text, encoding string, b *book, err error) {
	b, err = openBook(data, sheet)
	if err != nil || b == nil {
		if err == nil {
			text, encoding, err = decode(data)
		}
		return text, encoding, nil, err
	}
	text, _, err = decode(b.text)
	return text, EncXLSX, b, err
}

// decode turns the bytes of a file into text. Files that are no text are
// refused with the reason a person can act on.
func decode(data []byte) (text, encoding string, err error) {
	switch {
	case len(data) > MaxBytes:
		return "", "", refuseFile("ingest.file.too_big", map[string]any{"Megabytes": MaxBytes >> 20})
	case len(bytes.TrimSpace(data)) == 0:
		return "", "", refuseFile("ingest.file.empty", nil)
	case bytes.HasPrefix(data, []byte("PK\x03\x04")), bytes.HasPrefix(data, []byte("\xd0\xcf\x11\xe0")):
		return "", "", refuseFile("ingest.file.spreadsheet", nil)
	case bytes.HasPrefix(data, []byte("%PDF")):
		return "", "", refuseFile("ingest.file.pdf", nil)
	}
	if line := longLine(data); line > 0 {
		return "", "", refuseFile("ingest.file.long_line", map[string]any{"Line": line, "Most": MaxLine})
	}
	text, encoding = toText(data)
	if !printable(text) {
		return "", "", refuseFile("ingest.file.binary", nil)
	}
	text = strings.TrimRightFunc(text, unicode.IsSpace)
	if text == "" {
		return "", "", refuseFile("ingest.file.empty", nil)
	}
	n := strings.Count(text, "\n")
	if n == 0 {
		n = strings.Count(text, "\r")
	}
	if n++; n > MaxRows {
		return "", "", refuseFile("ingest.file.too_many_rows", map[string]any{"Rows": n, "Most": MaxRows})
	}
	return text, encoding, nil
}

// longLine is the first line above MaxLine, 0 when there is none. It looks at
// the bytes as they came, so that no work is done on what is no table.
func longLine(data []byte) int {
	for n := 1; len(data) > MaxLine; n++ {
		end := bytes.IndexAny(data[:MaxLine+1], "\n\r")
		if end < 0 {
			return n
		}
		if data[end] == '\r' && end+1 < len(data) && data[end+1] == '\n' {
			end++
		}
		data = data[end+1:]
	}
	return 0
}

func toText(data []byte) (string, string) {
	switch {
	case bytes.HasPrefix(data, []byte("\xef\xbb\xbf")):
		if utf8.Valid(data[3:]) {
			return string(data[3:]), EncUTF8BOM
		}
		data = data[3:]
	case bytes.HasPrefix(data, []byte("\xff\xfe")), nulShare(data, 1):
		return utf16(data, xunicode.LittleEndian), EncUTF16LE
	case bytes.HasPrefix(data, []byte("\xfe\xff")), nulShare(data, 0):
		return utf16(data, xunicode.BigEndian), EncUTF16BE
	case utf8.Valid(data):
		return string(data), EncUTF8
	}
	// The decoder of a one-byte table has no failing input.
	out, _ := charmap.Windows1252.NewDecoder().Bytes(data)
	return string(out), Enc1252
}

func utf16(data []byte, order xunicode.Endianness) string {
	out, err := xunicode.UTF16(order, xunicode.UseBOM).NewDecoder().Bytes(data)
	if err != nil { // no byte order mark
		out, _ = xunicode.UTF16(order, xunicode.IgnoreBOM).NewDecoder().Bytes(data)
	}
	return strings.TrimPrefix(string(out), "\ufeff")
}

// nulShare reports UTF-16 without a mark: most high bytes of Latin text are
// NUL, and the low bytes are not.
func nulShare(data []byte, at int) bool {
	n := min(len(data), 1000) &^ 1
	if n < 8 {
		return false
	}
	var nul, other int
	for i := 0; i < n; i += 2 {
		if data[i+at] == 0 {
			nul++
		}
		if data[i+1-at] == 0 {
			other++
		}
	}
	return nul > n/2*8/10 && other == 0
}

// printable reports whether text holds no control characters but tab, line
// ends, form feed and the end-of-file mark of old systems.
func printable(text string) bool {
	for _, r := range text {
		if r < 0x20 && r != '\t' && r != '\n' && r != '\r' && r != '\f' && r != 0x1a {
			return false
		}
		if r == 0x7f {
			return false
		}
	}
	return true
}

// lines cuts text at LF, CRLF or a lone CR. Line i is line i+1 of the file.
func lines(text string) []string {
	if !strings.Contains(text, "\n") && strings.Contains(text, "\r") {
		text = strings.ReplaceAll(text, "\r", "\n")
	}
	out := strings.Split(text, "\n")
	for i, l := range out {
		out[i] = strings.TrimRight(l, "\r\x1a\f")
	}
	for len(out) > 0 && strings.TrimSpace(out[len(out)-1]) == "" {
		out = out[:len(out)-1]
	}
	return out
}

package ingest

import (
	"bytes"
	"encoding/xml"
	"math"
	"strconv"
	"strings"
	"time"

	"reddside/internal/civil"
)

// sheet writes a sheet as text.
func (b *book) sheet(name string) ([]byte, error) {
	var out bytes.Buffer
	line, next := 1, 0 // of the row, and of its next cell
	err := b.each(name, func(d *xml.Decoder, e xml.StartElement) error {
		switch e.Name.Local {
		case "row":
			n, err := strconv.Atoi(attr(e, "r"))
			if err != nil {
				n = line + 1
				if out.Len() == 0 {
					n = 1
				}
			}
			if n > MaxRows {
				return refuseFile("ingest.file.too_many_rows", map[string]any{"Rows": n, "Most": MaxRows})
			}
			for ; line < n; line++ {
				out.WriteByte('\n')
			}
			next = 0
		case "c":
			text, err := b.cell(d, e)
			if err != nil {
				return err
			}
			c := cellColumn(attr(e, "r"), next)
			if c >= MaxColumns {
				return refuseFile("ingest.file.too_many_columns", map[string]any{"Columns": c + 1, "Most": MaxColumns})
			}
			for ; next < c; next++ {
				out.WriteByte('\t')
			}
			out.WriteString(clean.Replace(text))
		}
		if out.Len() > MaxBytes {
			return errTooBig
		}
		return nil
	})
	return out.Bytes(), err
}

// clean keeps a cell on its line and in its column.
var clean = strings.NewReplacer("\t", " ", "\r", " ", "\n", " ", `"`, "'")

// cellColumn is the column of a reference such as B3, else the next one.
func cellColumn(ref string, next int) int {
	c := 0
	for i := 0; i < len(ref) && ref[i] >= 'A' && ref[i] <= 'Z' && c < 1<<20; i++ {
		c = c*26 + int(ref[i]-'A') + 1
	}
	if c == 0 || c-1 < next {
		return next
	}
	return c - 1
}

// cell is what a cell shows.
func (b *book) cell(d *xml.Decoder, e xml.StartElement) (string, error) {
	var cell struct {
		V  string `xml:"v"`
		Is struct {
			T string   `xml:"t"`
			R []string `xml:"r>t"`
		} `xml:"is"`
	}
	if err := d.DecodeElement(&cell, &e); err != nil {
		return "", err
	}
	switch attr(e, "t") {
	case "s":
		n, err := strconv.Atoi(strings.TrimSpace(cell.V))
		if err != nil || n < 0 || n >= len(b.shared) {
			return "", nil
		}
		return b.shared[n], nil
	case "inlineStr":
		return cell.Is.T + strings.Join(cell.Is.R, ""), nil
	case "str", "b", "e", "d":
		return cell.V, nil
	}
	v, err := strconv.ParseFloat(strings.TrimSpace(cell.V), 64)
	if err != nil {
		return cell.V, nil
	}
	if n, err := strconv.Atoi(attr(e, "s")); err == nil && n >= 0 && n < len(b.dates) && b.dates[n] != showsNumber {
		if s := b.moment(v, b.dates[n]); s != "" {
			return s, nil
		}
	}
	return strconv.FormatFloat(v, 'g', 15, 64), nil // spreadsheets keep 15 digits
}

// moment writes a day number as a date, a date and time, or a time of day; "" for
// one that is none.
func (b *book) moment(v float64, s shows) string {
	const secondsOfDay, last = 86400, 73050
	if v < 0 || v > last {
		return ""
	}
	sec := int64(math.Round(v * secondsOfDay))
	day := civil.Of(1899, 12, 30)
	if b.late {
		day = civil.Of(1904, 1, 1)
	}
	t := day.UTC().Add(time.Duration(sec%secondsOfDay)*time.Second).AddDate(0, 0, int(sec/secondsOfDay))
	switch {
	case sec < secondsOfDay && !b.late:
		return t.Format("15:04:05")
	case v == math.Trunc(v) && s == showsDate:
		return t.Format("2006-01-02")
	}
	return t.Format("2006-01-02 15:04:05")
}

package report

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"slices"
	"strings"

	"reddside/internal/logbook"
)

// Mapped is a column of a form of somebody else: which of ours it is, and its name there.
type Mapped struct {
	Column string `json:"column"`
	Name   string `json:"name"`
}

// MaxMapping is the largest mapping file, in bytes (a local choice).
const MaxMapping = 64 << 10

// ParseMapping reads which columns a form wants, in its order: JSON, a list of
// {"column", "name"}, or CSV with our column and their name on each line. known are our
// columns. Problems have the field mapping.
func ParseMapping(data []byte, known []string) ([]Mapped, []logbook.Problem) {
	fail := func(key string, args logbook.Args) ([]Mapped, []logbook.Problem) {
		return nil, []logbook.Problem{{Field: "mapping", Key: "releases." + key, Args: args}}
	}
	data = bytes.TrimSpace(bytes.TrimPrefix(data, []byte("\xef\xbb\xbf")))
	switch {
	case len(data) == 0:
		return fail("mapping_empty", nil)
	case len(data) > MaxMapping:
		return fail("mapping_large", logbook.Args{"Max": MaxMapping / 1024})
	}
	var out []Mapped
	if data[0] == '[' {
		d := json.NewDecoder(bytes.NewReader(data))
		d.DisallowUnknownFields()
		if err := d.Decode(&out); err != nil {
			return fail("mapping_json", nil)
		}
	} else if err := mappingCSV(data, &out); err != nil {
		return fail("mapping_csv", nil)
	}
	var names []string
	for i, m := range out {
		line := logbook.Args{"Line": i + 1, "Column": m.Column, "Known": strings.Join(known, ", ")}
		switch {
		case !slices.Contains(known, m.Column):
			return fail("mapping_unknown", line)
		case strings.TrimSpace(m.Name) == "":
			return fail("mapping_noname", line)
		case slices.Contains(names, m.Name):
			line["Column"] = m.Name
			return fail("mapping_twice", line)
		}
		names = append(names, m.Name)
	}
	if len(out) == 0 {
		return fail("mapping_empty", nil)
	}
	return out, nil
}

func mappingCSV(data []byte, out *[]Mapped) error {
	c := csv.NewReader(bytes.NewReader(data))
	if first, _, _ := strings.Cut(string(data), "\n"); strings.Contains(first, ";") && !strings.Contains(first, ",") {
		c.Comma = ';'
	}
	c.FieldsPerRecord = 2
	for {
		row, err := c.Read()
		switch {
		case err == io.EOF:
			return nil
		case err != nil:
			return fmt.Errorf("read mapping: %w", err)
		}
		*out = append(*out, Mapped{strings.TrimSpace(row[0]), strings.TrimSpace(row[1])})
	}
}

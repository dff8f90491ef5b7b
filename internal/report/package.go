package report

import (
	"archive/zip"
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"strconv"
	"strings"
	"time"

	"reddside/internal/civil"
	"reddside/internal/units"
)

// Type is the type of a column, by the names of Table Schema.
type Type string

// The types of columns.
const (
	Text     Type = "string"
	Whole    Type = "integer"
	Number   Type = "number"
	YesNo    Type = "boolean"
	Day      Type = "date"
	Instant  Type = "datetime"
	WallTime Type = "time"
	List     Type = "array" // as JSON
)

// Column describes one column of a table. Unit is a UCUM code; RDF is the URI
// of the Darwin Core term that it fits, if any.
type Column struct {
	Name  string
	Type  Type
	About string
	Unit  string
	RDF   string
}

// Ref is a foreign key: a column that holds the id of another table.
type Ref struct{ Column, Table string }

// Table is one CSV file of the package; the first column is the primary key
// unless Key names others.
type Table struct {
	Name    string
	About   string
	Columns []Column
	Key     []string
	Refs    []Ref

	csv bytes.Buffer
}

// Add writes one row. Cells that are nil, absent, zero dates or zero times are
// empty: nothing was said.
func (t *Table) Add(cells ...any) error {
	if len(cells) != len(t.Columns) {
		return fmt.Errorf("table %s: %d cells for %d columns", t.Name, len(cells), len(t.Columns))
	}
	if t.csv.Len() == 0 {
		t.header()
	}
	for i, c := range cells {
		if i > 0 {
			t.csv.WriteByte(',')
		}
		s := cell(c)
		if t.Columns[i].Type == Text {
			s = Guard(s) // numbers never pass here: -0.5 stays -0.5
		}
		t.csv.WriteString(quote(s))
	}
	t.csv.WriteString("\r\n")
	return nil
}

func (t *Table) header() {
	names := make([]string, len(t.Columns))
	for i, c := range t.Columns {
		names[i] = c.Name
	}
	t.csv.WriteString(strings.Join(names, ",") + "\r\n")
}

// Guard keeps a spreadsheet from running a text as a formula (OWASP CSV injection,
// read).
func Guard(s string) string {
	if s != "" && strings.ContainsRune("=+-@\t\r", rune(s[0])) {
		return "'" + s
	}
	return s
}

// quote writes a cell by RFC 4180. The writer of encoding/csv would make CRLF of the
// line ends in a note.
func quote(s string) string {
	if strings.ContainsAny(s, ",\"\r\n") || strings.TrimSpace(s) != s {
		return `"` + strings.ReplaceAll(s, `"`, `""`) + `"`
	}
	return s
}

func cell(v any) string {
	switch x := v.(type) {
	case nil:
		return ""
	case string:
		return x
	case bool:
		return strconv.FormatBool(x)
	case int:
		return strconv.Itoa(x)
	case int64:
		return strconv.FormatInt(x, 10)
	case float64:
		return strconv.FormatFloat(x, 'f', -1, 64)
	case civil.Date:
		return x.String()
	case time.Time:
		if x.IsZero() {
			return ""
		}
		return x.UTC().Format(time.RFC3339)
	}
	return fmt.Sprint(v)
}

// Opt is the cell of an optional number.
func Opt[T ~float64](o units.Optional[T]) any {
	if !o.OK {
		return nil
	}
	return float64(o.V)
}

// OptWhole is the cell of an optional count.
func OptWhole(o units.Optional[int]) any {
	if !o.OK {
		return nil
	}
	return o.V
}

// descriptor is the datapackage.json of a Data Package (version 2).
type descriptor struct {
	Schema      string     `json:"$schema"`
	Name        string     `json:"name"`
	Title       string     `json:"title"`
	Description string     `json:"description"`
	Created     time.Time  `json:"created"`
	Version     string     `json:"version"`
	Resources   []resource `json:"resources"`
}

type resource struct {
	Name        string         `json:"name"`
	Description string         `json:"description"`
	Path        string         `json:"path"`
	Type        string         `json:"type"`
	Format      string         `json:"format"`
	Mediatype   string         `json:"mediatype"`
	Encoding    string         `json:"encoding"`
	Dialect     map[string]any `json:"dialect"`
	Schema      tableSchema    `json:"schema"`
}

type tableSchema struct {
	Fields        []field      `json:"fields"`
	PrimaryKey    []string     `json:"primaryKey"`
	ForeignKeys   []foreignKey `json:"foreignKeys,omitempty"`
	MissingValues []string     `json:"missingValues"`
}

type field struct {
	Name        string `json:"name"`
	Type        Type   `json:"type"`
	Format      string `json:"format,omitempty"`
	Description string `json:"description"`
	Unit        string `json:"unit,omitempty"`
	RDFType     string `json:"rdfType,omitempty"`
}

type foreignKey struct {
	Fields    []string `json:"fields"`
	Reference struct {
		Resource string   `json:"resource"`
		Fields   []string `json:"fields"`
	} `json:"reference"`
}

// FormatVersion is the version of the layout of the export.
const FormatVersion = "1.0.0"

// WritePackage writes the tables as a zip: one CSV file each and the
// datapackage.json that describes them (Frictionless Data Package 2, read).
func WritePackage(w io.Writer, title string, created time.Time, tables []*Table) error {
	z := zip.NewWriter(w)
	d := descriptor{Schema: "https://datapackage.org/profiles/2.0/datapackage.json", Name: "reddside-logbook",
		Title: title,
		Description: "Logbook of a classroom hatchery programme. Texts that begin with = + - @ stand behind an apostrophe. " +
			"Voided rows stay, with status voided. An empty cell means that nothing was said; it is never 0.",
		Created: created.UTC().Truncate(time.Second), Version: FormatVersion}
	for _, t := range tables {
		if t.csv.Len() == 0 {
			t.header()
		}
		f, err := z.CreateHeader(&zip.FileHeader{Name: t.Name + ".csv", Method: zip.Deflate, Modified: created})
		if err != nil {
			return fmt.Errorf("write %s: %w", t.Name, err)
		}
		if _, err := f.Write(t.csv.Bytes()); err != nil {
			return fmt.Errorf("write %s: %w", t.Name, err)
		}
		d.Resources = append(d.Resources, t.resource())
	}
	f, err := z.CreateHeader(&zip.FileHeader{Name: "datapackage.json", Method: zip.Deflate, Modified: created})
	if err != nil {
		return fmt.Errorf("write the description: %w", err)
	}
	e := json.NewEncoder(f)
	e.SetIndent("", "  ")
	if err := e.Encode(d); err != nil {
		return fmt.Errorf("write the description: %w", err)
	}
	return z.Close()
}

func (t *Table) resource() resource {
	r := resource{Name: t.Name, Description: t.About, Path: t.Name + ".csv", Type: "table", Format: "csv",
		Mediatype: "text/csv",
		Encoding:  "utf-8", Dialect: map[string]any{"delimiter": ",", "lineTerminator": "\r\n", "header": true,
			"quoteChar": `"`, "doubleQuote": true},
		Schema: tableSchema{PrimaryKey: t.Key, MissingValues: []string{""}}}
	if len(t.Key) == 0 {
		r.Schema.PrimaryKey = []string{t.Columns[0].Name}
	}
	for _, c := range t.Columns {
		f := field{Name: c.Name, Type: c.Type, Description: c.About, Unit: c.Unit, RDFType: c.RDF}
		if c.Unit != "" {
			f.Description += " (" + c.Unit + ")"
		}
		if c.Type == WallTime {
			f.Format = "%H:%M"
		}
		r.Schema.Fields = append(r.Schema.Fields, f)
	}
	for _, ref := range t.Refs {
		k := foreignKey{Fields: []string{ref.Column}}
		k.Reference.Resource, k.Reference.Fields = ref.Table, []string{"id"}
		r.Schema.ForeignKeys = append(r.Schema.ForeignKeys, k)
	}
	return r
}

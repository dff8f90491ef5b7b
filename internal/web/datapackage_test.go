package web

import (
	"archive/zip"
	"bytes"
	"context"
	"encoding/csv"
	"encoding/json"
	"io"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"reddside/internal/api"
	"reddside/internal/demo"
	"reddside/internal/logbook"
	"reddside/internal/store"
)

// profile compiles a published profile of the Data Package standard (version 1,
// see testdata/datapackage for it and its licence) with a validator that is not
// ours. What version 2 adds, version 1 lets pass.
func profile(t *testing.T, name string) *jsonschema.Schema {
	t.Helper()
	data, err := os.ReadFile(filepath.Join("..", "..", "testdata", "datapackage", name))
	if err != nil {
		t.Fatal(err)
	}
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	c.AssertFormat()
	if err := c.AddResource(name, doc); err != nil {
		t.Fatal(err)
	}
	s, err := c.Compile(name)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// demoExport is the export of the demonstration.
func demoExport(t *testing.T, now time.Time) (*store.DB, map[string][]byte) {
	t.Helper()
	ctx := context.Background()
	db, err := store.Open(ctx, t.TempDir(), store.Options{Now: now})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = db.Close() })
	if err := demo.Fill(ctx, db, now); err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := api.Export(ctx, db, logbook.Actor{Role: logbook.Coordinator}, now, &b); err != nil {
		t.Fatal(err)
	}
	z, err := zip.NewReader(bytes.NewReader(b.Bytes()), int64(b.Len()))
	if err != nil {
		t.Fatal(err)
	}
	files := map[string][]byte{}
	for _, f := range z.File {
		r, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		if files[f.Name], err = io.ReadAll(r); err != nil {
			t.Fatal(err)
		}
	}
	return db, files
}

type packageDescriptor struct {
	Resources []struct {
		Name, Path string
		Schema     struct {
			Fields        []struct{ Name, Type, Format string }
			PrimaryKey    []string
			MissingValues []string
			ForeignKeys   []struct {
				Fields    []string
				Reference struct {
					Resource string
					Fields   []string
				}
			}
		}
	}
}

func TestDataPackageIsOne(t *testing.T) {
	_, files := demoExport(t, testNow)
	read := func() map[string]any {
		doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(files["datapackage.json"]))
		if err != nil {
			t.Fatal(err)
		}
		return doc.(map[string]any)
	}
	if err := profile(t, "data-package.json").Validate(read()); err != nil {
		t.Errorf("data package: %v", err)
	}
	// The profile of tables wants its name in package and resources; version 2 has
	// another way to say so.
	tabular := profile(t, "tabular-data-package.json")
	doc := read()
	doc["profile"] = "tabular-data-package"
	resources := doc["resources"].([]any)
	for _, r := range resources {
		r.(map[string]any)["profile"] = "tabular-data-resource"
	}
	if err := tabular.Validate(doc); err != nil {
		t.Errorf("tabular data package: %v", err)
	}
	// The profile is no rubber stamp.
	resources[0].(map[string]any)["schema"].(map[string]any)["fields"].([]any)[0].(map[string]any)["type"] = "picture"
	if tabular.Validate(doc) == nil {
		t.Error("the profile takes a type that there is not")
	}
}

// Each file holds what its schema declares: columns, types, missing values, keys.
func TestDataPackageTables(t *testing.T) {
	_, files := demoExport(t, testNow)
	var d packageDescriptor
	if err := json.Unmarshal(files["datapackage.json"], &d); err != nil {
		t.Fatal(err)
	}
	if len(d.Resources) != len(files)-1 {
		t.Errorf("%d resources, %d files", len(d.Resources), len(files)-1)
	}
	shown := []string{"sites", "tanks", "lots", "seasons", "deliveries", "checks", "events", "releases", "readings"}
	keys := map[string]map[string]bool{}
	tables := map[string][][]string{}
	for _, r := range d.Resources {
		rows, err := csv.NewReader(bytes.NewReader(files[r.Path])).ReadAll()
		if err != nil {
			t.Fatalf("%s: %v", r.Path, err)
		}
		if len(rows) < 2 && slices.Contains(shown, r.Name) {
			t.Errorf("%s of the demonstration has no rows", r.Name)
		}
		tables[r.Name] = rows
		var names []string
		for _, f := range r.Schema.Fields {
			names = append(names, f.Name)
		}
		if !slices.Equal(rows[0], names) || !slices.Equal(r.Schema.MissingValues, []string{""}) {
			t.Errorf("%s: head %v, schema %v", r.Name, rows[0], names)
		}
		keys[r.Name] = map[string]bool{}
		for i, row := range rows[1:] {
			for c, f := range r.Schema.Fields {
				if row[c] != "" && !castable(f.Type, f.Format, row[c]) {
					t.Errorf("%s, row %d: %s is %q, no %s", r.Name, i+1, f.Name, row[c], f.Type)
				}
			}
			var key []string
			for _, k := range r.Schema.PrimaryKey {
				cell := row[slices.Index(names, k)]
				if cell == "" {
					t.Errorf("%s, row %d: no %s", r.Name, i+1, k)
				}
				key = append(key, cell)
			}
			if k := strings.Join(key, "\x00"); keys[r.Name][k] {
				t.Errorf("%s: key %v stands twice", r.Name, key)
			} else {
				keys[r.Name][k] = true
			}
		}
	}
	for _, r := range d.Resources {
		for _, fk := range r.Schema.ForeignKeys {
			c := slices.Index(tables[r.Name][0], fk.Fields[0])
			if c < 0 || len(fk.Fields) != 1 || keys[fk.Reference.Resource] == nil {
				t.Fatalf("%s: foreign key %+v", r.Name, fk)
			}
			for _, row := range tables[r.Name][1:] {
				// A missing value refers to nothing: only a season without a permit may.
				if none := row[c] == "" && fk.Fields[0] == "permit_id"; !none && !keys[fk.Reference.Resource][row[c]] {
					t.Errorf("%s: %s %q is not in %s", r.Name, fk.Fields[0], row[c], fk.Reference.Resource)
				}
			}
		}
	}
}

// castable reports whether a cell reads as its type by Table Schema (read).
func castable(kind, format, s string) bool {
	var err error
	switch kind {
	case "string":
		return format == ""
	case "integer":
		_, err = strconv.ParseInt(s, 10, 64)
	case "number":
		var v float64
		v, err = strconv.ParseFloat(s, 64)
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return false
		}
	case "boolean":
		return s == "true" || s == "false"
	case "date":
		_, err = time.Parse("2006-01-02", s)
	case "datetime":
		_, err = time.Parse("2006-01-02T15:04:05Z", s)
	case "time":
		if format != "%H:%M" {
			return false
		}
		_, err = time.Parse("15:04", s)
	case "array":
		var list []any
		err = json.Unmarshal([]byte(s), &list)
	default:
		return false
	}
	return err == nil
}

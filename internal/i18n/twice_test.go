package i18n

import (
	"encoding/json"
	"io/fs"
	"strings"
	"testing"
)

// keysOf returns the keys of one file in their order, with those that stand there
// more than once: a decoder keeps the last and says nothing.
func keysOf(t *testing.T, name string) []string {
	t.Helper()
	data, err := locales.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	dec := json.NewDecoder(strings.NewReader(string(data)))
	if _, err := dec.Token(); err != nil { // the opening brace
		t.Fatalf("%s: %v", name, err)
	}
	var keys []string
	for dec.More() {
		key, err := dec.Token()
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		var skip any
		if err := dec.Decode(&skip); err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		keys = append(keys, key.(string))
	}
	return keys
}

// A key that stands twice loses one of its texts without a word.
func TestNoKeyStandsTwice(t *testing.T) {
	for _, lang := range []string{"en", "fr"} {
		files, err := fs.Glob(locales, "locales/*."+lang+".json")
		if err != nil || len(files) == 0 {
			t.Fatalf("no messages of %s: %v", lang, err)
		}
		where := map[string]string{}
		for _, name := range files {
			for _, key := range keysOf(t, name) {
				if first := where[key]; first != "" {
					t.Errorf("%s stands in %s and in %s", key, first, name)
				}
				where[key] = name
			}
		}
	}
}

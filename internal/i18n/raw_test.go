package i18n

import (
	"encoding/json"
	"io/fs"
	"testing"
)

// rawTexts reads the messages of a language straight from its files; plural
// forms of one message are joined.
func rawTexts(t *testing.T, lang string) map[string]string {
	t.Helper()
	files, err := fs.Glob(locales, "locales/*."+lang+".json")
	if err != nil || len(files) == 0 {
		t.Fatalf("no messages of %s: %v", lang, err)
	}
	out := map[string]string{}
	for _, name := range files {
		data, err := locales.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		var raw map[string]any
		if err := json.Unmarshal(data, &raw); err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		for key, v := range raw {
			switch x := v.(type) {
			case string:
				out[key] = x
			case map[string]any:
				for _, form := range x {
					s, _ := form.(string)
					out[key] += s + " "
				}
			}
		}
	}
	return out
}

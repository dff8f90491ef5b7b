package forecast

import (
	"encoding/json"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// Every message key of the package has a text in both languages, and no text is
// left without a use.
func TestEveryKeyHasATextInBothLanguages(t *testing.T) {
	want := map[string]bool{}
	key := regexp.MustCompile(`"(forecast\.[a-z_.]*[a-z_])"`)
	files, err := filepath.Glob("*.go")
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range append(files, filepath.Join("..", "biology", "species.go")) {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		src, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range key.FindAllStringSubmatch(string(src), -1) {
			want[m[1]] = true
		}
	}
	for _, e := range Events() {
		want[e.MessageKey()] = true
		if e != SwimUp {
			want["forecast.question.contradiction."+string(e)] = true
			want["forecast.question.overdue."+string(e)] = true
		}
	}
	for _, s := range []Source{FromCheck, FromLogger, Interpolated, Planned, RecentMean} {
		want[s.MessageKey()] = true
	}
	for _, k := range []PartKind{PartLot, PartModel, PartStart, PartThermometer, PartMissing, PartFuture, PartRatio} {
		want[k.MessageKey()] = true
	}
	for _, k := range []DueKind{DueWatchHatch, DueBasket, DueFoodReady, DueFirstFood, DueRelease} {
		want[k.MessageKey()] = true
	}
	for _, lang := range []string{"en", "fr"} {
		b, err := os.ReadFile(filepath.Join("..", "i18n", "locales", "forecast."+lang+".json"))
		if err != nil {
			t.Fatal(err)
		}
		texts := map[string]any{}
		if err := json.Unmarshal(b, &texts); err != nil {
			t.Fatal(err)
		}
		for k := range want {
			if texts[k] == nil {
				t.Errorf("%s: no text for %s", lang, k)
			}
		}
		for k := range texts {
			if !want[k] && !strings.HasSuffix(k, ".why") {
				t.Errorf("%s: nothing uses %s", lang, k)
			}
		}
	}
}

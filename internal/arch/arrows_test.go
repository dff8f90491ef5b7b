// Package arch holds the tests of the shape of the code itself.
package arch

import (
	"encoding/json"
	"io"
	"os/exec"
	"slices"
	"strings"
	"testing"
)

// area is what the package of an area of pages may import: the kernel of the
// pages and the core, never another area.
var area = []string{"internal/web/req", "internal/web/form", "internal/web/ui", "internal/web/words",
	"internal/web/chart", "internal/assess",
	"internal/entries", "internal/calc", "internal/care", "internal/report", "internal/rules", "internal/forecast",
	"internal/biology",
	"internal/water", "internal/stats", "internal/classwork", "internal/ingest", "internal/picture", "internal/replica",
	"internal/store", "internal/i18n",
	"internal/logbook", "internal/civil", "internal/units"}

// allowed lists which of our packages a package may import. A package that is
// not listed here, or an arrow that is not, fails the test: add it on purpose.
var allowed = map[string][]string{
	"internal/civil":   {},
	"internal/units":   {},
	"internal/logbook": {"internal/civil", "internal/units"},
	"internal/biology": {"internal/civil", "internal/units"},
	"internal/water":   {"internal/units"},
	"internal/care": {"internal/logbook", "internal/biology", "internal/water", "internal/civil",
		"internal/units"},
	"internal/stats":     {},
	"internal/stats/sim": {"internal/stats"},
	"internal/forecast": {"internal/logbook", "internal/biology", "internal/stats", "internal/civil",
		"internal/units"},
	"internal/rules": {"internal/care", "internal/logbook", "internal/forecast", "internal/biology", "internal/water",
		"internal/stats",
		"internal/civil", "internal/units"},
	"internal/report": {"internal/care", "internal/logbook", "internal/forecast", "internal/rules", "internal/biology",
		"internal/water", "internal/stats",
		"internal/civil", "internal/units"},
	"internal/classwork": {"internal/logbook", "internal/civil"},
	"internal/ingest":    {"internal/logbook", "internal/civil", "internal/units"},
	"internal/store":     {"internal/logbook", "internal/civil", "internal/units", "migrations"},
	"internal/i18n":      {"internal/civil", "internal/units"},
	"internal/picture":   {},
	"internal/replica":   {"internal/store"},
	"internal/demo": {"internal/store", "internal/ingest", "internal/logbook", "internal/biology", "internal/water",
		"internal/civil", "internal/units"},
	"internal/assess": {"internal/store", "internal/rules", "internal/forecast", "internal/logbook", "internal/i18n",
		"internal/civil", "internal/units"},
	"internal/entries": {"internal/assess", "internal/rules", "internal/care", "internal/forecast", "internal/store", "internal/ingest",
		"internal/report", "internal/stats", "internal/logbook", "internal/civil", "internal/units"},
	"internal/calc": {"internal/biology", "internal/water", "internal/forecast", "internal/stats", "internal/i18n",
		"internal/logbook",
		"internal/civil", "internal/units", "internal/web/req", "internal/web/form"},
	"internal/api": {"internal/assess", "internal/entries", "internal/care", "internal/calc", "internal/report", "internal/rules",
		"internal/forecast",
		"internal/ingest", "internal/store", "internal/i18n", "internal/logbook", "internal/civil", "internal/units",
		"internal/web/req", "internal/web/form", "internal/web/words"},
	"internal/web/chart": {"internal/report", "internal/forecast", "internal/logbook", "internal/i18n",
		"internal/civil", "internal/units"},
	"internal/web/ui": {"internal/assess", "internal/rules", "internal/forecast", "internal/logbook", "internal/i18n",
		"internal/civil",
		"internal/units"},
	"internal/web/words": {"internal/web/ui", "internal/assess", "internal/report", "internal/rules",
		"internal/forecast", "internal/water",
		"internal/store", "internal/logbook", "internal/i18n", "internal/civil", "internal/units"},
	"internal/web/form": {"internal/web/ui", "internal/web/words", "internal/stats", "internal/logbook",
		"internal/i18n", "internal/civil",
		"internal/units"},
	"internal/web/req": {"internal/web/ui", "internal/web/words", "internal/web/form", "internal/assess",
		"internal/entries", "internal/report", "internal/replica",
		"internal/store", "internal/logbook", "internal/i18n", "internal/civil", "internal/units", "static"},
	"internal/web": {"internal/api", "internal/calc", "internal/web/req", "internal/assess", "internal/store",
		"internal/logbook"},
	"migrations": {},
	"static":     {},
	"cmd/server": {"internal/web", "internal/replica", "internal/web/imports", "internal/web/school", "internal/api", "internal/assess",
		"internal/entries",
		"internal/store", "internal/ingest", "internal/i18n", "internal/demo", "internal/report", "internal/logbook",
		"internal/civil",
		"internal/units"},
	"internal/arch":    {},
	"internal/release": {},
	"internal/browser": {},
}

func TestImportArrows(t *testing.T) {
	out, err := exec.Command("go", "list", "-json=ImportPath,Imports", "reddside/...").Output()
	if err != nil {
		t.Fatalf("go list: %v", err)
	}
	dec := json.NewDecoder(strings.NewReader(string(out)))
	for n := 0; ; n++ {
		var p struct {
			ImportPath string
			Imports    []string
		}
		if err := dec.Decode(&p); err == io.EOF {
			if n < 15 {
				t.Fatalf("go list saw only %d packages", n)
			}
			return
		} else if err != nil {
			t.Fatal(err)
		}
		name := strings.TrimPrefix(p.ImportPath, "reddside/")
		may, known := allowed[name]
		if !known && strings.HasPrefix(name, "internal/web/") { // an area of pages
			may, known = area, true
		}
		if !known {
			t.Errorf("package %s is not in the layer table", name)
			continue
		}
		for _, imp := range p.Imports {
			ours, ok := strings.CutPrefix(imp, "reddside/")
			_, kernel := allowed[ours]
			if name == "internal/web" && strings.HasPrefix(ours, "internal/web/") && !kernel {
				continue // it puts the areas together
			}
			if ok && !slices.Contains(may, ours) {
				t.Errorf("%s must not import %s", name, ours)
			}
		}
	}
}

// gonum serves distributions only, so it stays inside the statistics.
func TestGonumStaysInStats(t *testing.T) {
	out, err := exec.Command("go", "list", "-f", `{{.ImportPath}} {{join .Imports " "}}`, "reddside/...").Output()
	if err != nil {
		t.Fatalf("go list: %v", err)
	}
	for _, line := range strings.Split(string(out), "\n") {
		pkg, imports, _ := strings.Cut(line, " ")
		if strings.Contains(imports, "gonum.org/") && !strings.HasPrefix(pkg, "reddside/internal/stats") {
			t.Errorf("%s imports gonum", pkg)
		}
	}
}

package i18n

import (
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"sort"
	"strings"
	"testing"
)

var (
	quoted  = regexp.MustCompile(`"((?:[^"\\\n]|\\.)*)"|'([a-z_]+)'`)
	asked   = regexp.MustCompile(`\bT\("([^"]+)"\s*[,)]`)
	digits  = regexp.MustCompile(`^\d+$`)
	counted = regexp.MustCompile(`^(.*[^\d])\d+$`)
)

// sources are the program's own lines: no tests, no generated code.
func sources(t *testing.T) (words map[string]bool, keys map[string]string) {
	t.Helper()
	words, keys = map[string]bool{}, map[string]string{}
	for _, dir := range []string{"../../internal", "../../cmd"} {
		err := filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
			own := strings.HasSuffix(path, ".templ") || strings.HasSuffix(path, ".go") &&
				!strings.HasSuffix(path, "_test.go") && !strings.HasSuffix(path, "_templ.go")
			if err != nil || d.IsDir() || !own {
				return err
			}
			text, err := os.ReadFile(path)
			if err != nil {
				return err
			}
			for _, m := range quoted.FindAllStringSubmatch(string(text), -1) {
				words[strings.Trim(strings.TrimSuffix(m[1]+m[2], "%d"), "._/?")] = true
			}
			for _, m := range asked.FindAllStringSubmatch(string(text), -1) {
				keys[m[1]] = path
			}
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	return words, keys
}

// made reports whether a key can be put together from words of the program: keys
// are written out, or joined from an area, a field or value, and an ending.
func made(words map[string]bool, key string) bool {
	if words[key] || digits.MatchString(key) {
		return true
	}
	for i, c := range key {
		if (c == '.' || c == '_' || c == '/') && words[key[:i]] && made(words, key[i+1:]) {
			return true
		}
	}
	if m := counted.FindStringSubmatch(key); m != nil {
		return words[m[1]]
	}
	// "error.title." stands before a number.
	cut := strings.LastIndexByte(key, '.')
	return cut > 0 && digits.MatchString(key[cut+1:]) && words[key[:cut]]
}

// Every text is used, and every text that the program asks for by name is there.
func TestEveryTextIsUsed(t *testing.T) {
	words, asked := sources(t)
	texts := rawTexts(t, "en")
	if len(asked) < 200 {
		t.Fatalf("only %d keys found in the program: the search is broken", len(asked))
	}
	var unused []string
	for key := range texts {
		if !made(words, key) {
			unused = append(unused, key)
		}
	}
	sort.Strings(unused)
	for _, key := range unused {
		t.Errorf("nothing shows %q", key)
	}
	for key, path := range asked {
		if _, ok := texts[key]; !ok {
			t.Errorf("%s asks for %q, which is missing", path, key)
		}
	}
	if made(words, "flag.never_written_anywhere") {
		t.Error("a key that nobody writes counts as used")
	}
}

var (
	argument = regexp.MustCompile(`{{.*?}}`)
	sentence = regexp.MustCompile(`[.!?]["»”)]*(\s|$)`)
	wordMark = regexp.MustCompile(`[\p{L}\p{N}]`)
)

// longestSentence counts the words of the longest sentence of a text.
func longestSentence(text string) int {
	most := 0
	for _, s := range sentence.Split(argument.ReplaceAllString(text, "1"), -1) {
		n := 0
		for _, w := range strings.Fields(s) {
			if wordMark.MatchString(w) {
				n++
			}
		}
		most = max(most, n)
	}
	return most
}

// Sentences have at most 20 words, in both languages and on every page, not only
// those of classes (NHS content style, read). The one exception is a list of
// column names.
func TestSentencesAreShort(t *testing.T) {
	for lang := range map[string]bool{"en": true, "fr": true} {
		for key, text := range rawTexts(t, lang) {
			if key == "import.checks.columns" {
				continue
			}
			if n := longestSentence(text); n > 20 {
				t.Errorf("%s: %s has a sentence of %d words: %s", lang, key, n, text)
			}
		}
	}
	if n := longestSentence("One two. Three, four five? « Six. » {{.Seven}}"); n != 3 {
		t.Errorf("counted %d", n)
	}
}

// Words that a child does not know, or that blame, are absent from what classes
// read. Trade words that the pages explain (alevin, swim-up) stay.
var classWords = regexp.MustCompile(`(?i)\b(aggregate|anomal\w+|approximately|calibrat\w+|coefficient|criteri\w+|facilitat\w+|hypothes\w+|indicat\w+|mortalit\w+|parameter\w*|probabilit\w+|quantil\w*|regress\w+|statistic\w*|threshold\w*|utili[sz]\w+|fault|failed to|you forgot|wrongly|careless|worst class|best class|winner|loser|mortalité|paramètre\w*|probabilité|seuil\w*|statistique\w*|hypothèse\w*|coupable|gagnant\w*|perdant\w*)\b`)

func forClasses(key string) bool {
	for _, area := range []string{"class", "today", "question", "wall", "check.", "guess", "stage_card", "look."} {
		if strings.HasPrefix(key, area) {
			return true
		}
	}
	return strings.Contains(key, ".class")
}

func TestWordsForClasses(t *testing.T) {
	n := 0
	for _, lang := range []string{"en", "fr"} {
		for key, text := range rawTexts(t, lang) {
			if !forClasses(key) {
				continue
			}
			n++
			if w := classWords.FindString(argument.ReplaceAllString(text, "")); w != "" {
				t.Errorf("%s: %s says %q: %s", lang, key, w, text)
			}
		}
	}
	if n < 100 {
		t.Errorf("only %d texts for classes found", n)
	}
}

// French marks: a typographic apostrophe, and spaces that do not break before the
// double marks and inside the quotation marks (Office québécois de la langue
// française, from memory).
func TestFrenchMarks(t *testing.T) {
	wrong := regexp.MustCompile(`\p{L}'\p{L}|[\p{L}\p{N})}] ?[?!;](\s|$)| :(\s|$)|\p{L}:(\s|$)|« | »`)
	for key, text := range rawTexts(t, "fr") {
		if m := wrong.FindString(text); m != "" {
			t.Errorf("%s has %q: %s", key, m, text)
		}
	}
}

package ingest

import (
	"errors"
	"runtime"
	"strings"
	"testing"
)

// allocated is the memory that f takes in all, in MB.
func allocated(f func()) float64 {
	var a, b runtime.MemStats
	runtime.ReadMemStats(&a)
	f()
	runtime.ReadMemStats(&b)
	return float64(b.TotalAlloc-a.TotalAlloc) / (1 << 20)
}

// A file that is no table of readings is refused before it takes memory, in
// words that say what is wrong.
func TestHugeFilesAreRefusedCheaply(t *testing.T) {
	const head = "Date,Temp\n2026-02-01 10:00,7\n"
	fill := func(s string) string { return head + strings.Repeat(s, (MaxBytes-100)/len(s)) }
	for name, x := range map[string]struct{ text, key string }{
		"one line":        {fill("2026-02-01 10:00,"), "ingest.file.long_line"},
		"one open quote":  {head + `"` + strings.Repeat("x", MaxBytes-100), "ingest.file.long_line"},
		"quotes":          {fill(`"a",`), "ingest.file.long_line"},
		"commas":          {fill(","), "ingest.file.long_line"},
		"line ends":       {fill("\n") + "x", "ingest.file.too_many_rows"},
		"carriage return": {strings.Repeat("\r", MaxBytes-100) + "x", "ingest.file.too_many_rows"},
		"short lines":     {fill("1\n"), "ingest.file.too_many_rows"},
		"wide UTF-16":     {"\xff\xfe" + strings.Repeat("x\x00", MaxBytes/2-100), "ingest.file.long_line"},
	} {
		for reader, read := range map[string]func([]byte) error{
			"readings": func(b []byte) error { _, err := Detect(b, Answers{}); return err },
			"checks":   func(b []byte) error { _, _, err := ReadChecks(b); return err },
		} {
			data := []byte(x.text)
			var err error
			mb := allocated(func() { err = read(data) })
			var file *FileError
			if !errors.As(err, &file) || reader == "readings" && file.Problem.Key != x.key {
				t.Errorf("%s as %s: %v", name, reader, err)
			}
			if mb > 70 {
				t.Errorf("%s as %s takes %.0f MB", name, reader, mb)
			}
		}
	}
}

// A file of checks that is wrong throughout names its first problems.
func TestProblemsOfChecksAreBounded(t *testing.T) {
	_, problems, err := ReadChecks([]byte("date,temperature_c,dead_eggs\n" + strings.Repeat("soon,warm,some\n",
		100_000)))
	if err != nil || len(problems) < 100 || len(problems) > maxProblems+10 {
		t.Errorf("%d problems, %v", len(problems), err)
	}
}

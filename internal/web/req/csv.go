package req

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"reddside/internal/report"
)

// WriteCSV sends rows as a file. Text that a spreadsheet would take for a
// formula gets an apostrophe in front.
func WriteCSV(w http.ResponseWriter, name, label string, rows [][]string) error {
	var b bytes.Buffer
	out := csv.NewWriter(&b)
	for _, row := range rows {
		safe := make([]string, len(row))
		for i, cell := range row {
			if _, err := strconv.ParseFloat(cell, 64); err != nil { // numbers stay numbers
				cell = report.Guard(cell)
			}
			safe[i] = cell
		}
		if err := out.Write(safe); err != nil {
			return fmt.Errorf("write CSV: %w", err)
		}
	}
	out.Flush()
	if err := out.Error(); err != nil {
		return fmt.Errorf("write CSV: %w", err)
	}
	h := w.Header()
	h.Set("Content-Type", "text/csv; charset=utf-8")
	h.Set("Cache-Control", "no-store")
	h.Set("Content-Disposition", `attachment; filename="`+FileName(name, label)+`.csv"`)
	_, _ = w.Write(b.Bytes())
	return nil
}

// FileName joins words to a plain file name.
func FileName(words ...string) string {
	name := strings.Map(func(r rune) rune {
		if (r >= 'a' && r <= 'z') || (r >= 'A' && r <= 'Z') || (r >= '0' && r <= '9') {
			return r
		}
		return '-'
	}, strings.Join(words, "-"))
	return strings.Trim(name, "-")
}

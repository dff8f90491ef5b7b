package web

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"reddside/internal/logbook"
	"reddside/internal/units"
)

// tankCSV gives the log of a season, or the numbers of one figure, as CSV.
func (s *Server) tankCSV(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	season, err := s.seasonOf(r)
	if err != nil {
		return err
	}
	name := r.URL.Query().Get("table")
	if name == "" || name == "log" {
		return writeCSV(w, "log", season.Label, logRecords(season))
	}
	a, err := s.assess(r.Context(), season, v.now)
	if err != nil {
		return err
	}
	figures, err := s.figures(r.Context(), v, a)
	if err != nil {
		return err
	}
	for _, f := range figures {
		if f.Name != name {
			continue
		}
		var head []string
		for _, c := range f.Table.Columns {
			head = append(head, c.Name)
		}
		rows := [][]string{head}
		for _, row := range f.Table.Rows {
			raw := make([]string, len(row))
			for i, c := range row {
				raw[i] = c.Raw
			}
			rows = append(rows, raw)
		}
		return writeCSV(w, name, season.Label, rows)
	}
	return logbook.Missing("table")
}

// writeCSV sends rows as a file. Text that a spreadsheet would take for a
// formula gets an apostrophe in front.
func writeCSV(w http.ResponseWriter, name, label string, rows [][]string) error {
	var b bytes.Buffer
	out := csv.NewWriter(&b)
	for _, row := range rows {
		safe := make([]string, len(row))
		for i, cell := range row {
			safe[i] = safeCell(cell)
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
	h.Set("Content-Disposition", `attachment; filename="`+fileName(name, label)+`.csv"`)
	_, _ = w.Write(b.Bytes())
	return nil
}

// safeCell keeps a spreadsheet from running a cell; numbers stay numbers.
func safeCell(cell string) string {
	if cell == "" || !strings.ContainsRune("=+-@\t\r", rune(cell[0])) {
		return cell
	}
	if _, err := strconv.ParseFloat(cell, 64); err == nil {
		return cell
	}
	return "'" + cell
}

// fileName joins words to a plain file name.
func fileName(words ...string) string {
	name := strings.Map(func(r rune) rune {
		if (r >= 'a' && r <= 'z') || (r >= 'A' && r <= 'Z') || (r >= '0' && r <= '9') {
			return r
		}
		return '-'
	}, strings.Join(words, "-"))
	return strings.Trim(name, "-")
}

func writePlainJSON(w http.ResponseWriter, v any) error {
	body, err := json.Marshal(v)
	if err != nil {
		return fmt.Errorf("write JSON: %w", err)
	}
	w.Header().Set("Content-Type", "application/json; charset=utf-8")
	w.Header().Set("Cache-Control", "no-store")
	_, _ = w.Write(body)
	return nil
}

// decimal writes an optional quantity for CSV.
func decimal[T ~float64](o units.Optional[T]) string {
	if !o.OK {
		return ""
	}
	return strconv.FormatFloat(units.Round(float64(o.V), 6), 'f', -1, 64)
}

// whole writes an optional count for CSV.
func whole(o units.Optional[int]) string {
	if !o.OK {
		return ""
	}
	return strconv.Itoa(o.V)
}

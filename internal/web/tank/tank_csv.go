package tank

import (
	"encoding/json"
	"fmt"
	"net/http"
	"strconv"

	"reddside/internal/logbook"
	"reddside/internal/units"
	"reddside/internal/web/req"
)

// tankCSV gives the log of a season, or the numbers of one figure, as CSV.
func (s *Service) tankCSV(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	season, err := s.SeasonOf(r)
	if err != nil {
		return err
	}
	name := r.URL.Query().Get("table")
	if name == "" || name == "log" {
		return req.WriteCSV(w, "log", season.Label, logRecords(season))
	}
	a, err := s.Assess.Assess(r.Context(), season, v.Now)
	if err != nil {
		return err
	}
	figures, err := s.figures(r.Context(), v, a, 0)
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
		return req.WriteCSV(w, name, season.Label, rows)
	}
	return logbook.Missing("table")
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

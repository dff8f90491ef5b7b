package web

import (
	"database/sql"
	"regexp"
	"strings"
	"sync"
	"testing"
)

// growingScan is a step of a plan that reads a table from end to end which gets longer
// every school day. The index flag_open holds open flags only.
var growingScan = regexp.MustCompile(`^SCAN (h|history|flag_history|flag|checks|event|sample|reading|delivery|idempotency)\b($| USING INDEX (\S+))`)

// readsWhole are the queries that still read a whole table: the export asks for all
// that was taken back anywhere, the pages of flags and of their load look back over a
// time.
var readsWhole = regexp.MustCompile(`(?s)FROM (event|sample|delivery|release_record) WHERE voided = 1 |cleared_at >= \?2 OR seen_at IS NULL|FROM flag_history h JOIN flag ON .* h\.step_at >= \?3`)

// No statement that runs while somebody opens every page, saves a check and takes the
// export reads a growing table from end to end.
func TestNoPageScansAGrowingTable(t *testing.T) {
	var mu sync.Mutex
	said := map[string]bool{}
	ts := newToldServer(t, func(sql string) {
		mu.Lock()
		defer mu.Unlock()
		said[sql] = true
	})
	for _, b := range []*browser{ts.as(ts.coordinator), ts.as(ts.keeper), ts.as(ts.class)} {
		b.post(seasonPath(ts.one, "checks"), plainCheck()).want(t, 303)
		linkWalk(t, b)
	}
	ts.as(ts.coordinator).get("/api/v1/export").want(t, 200)
	ts.must(ts.Assess.SyncAllFlags(t.Context()))
	db, err := sql.Open("sqlite", "file:"+ts.DB.Path()+"?mode=ro")
	ts.must(err)
	defer func() { _ = db.Close() }()
	asked := 0
	for query := range said {
		if !regexp.MustCompile(`(?s)^\s*(SELECT|INSERT|UPDATE|DELETE|WITH)`).MatchString(query) ||
			readsWhole.MatchString(query) {
			continue
		}
		asked++
		rows, err := db.Query("EXPLAIN QUERY PLAN "+query, make([]any, 100)...)
		if err != nil {
			t.Errorf("%v\n%s", err, query)
			continue
		}
		for rows.Next() {
			var id, parent, none int
			var step string
			ts.must(rows.Scan(&id, &parent, &none, &step))
			if m := growingScan.FindStringSubmatch(strings.TrimSpace(step)); m != nil && m[3] != "flag_open" {
				t.Errorf("%s\n%s", step, query)
			}
		}
		ts.must(rows.Err())
	}
	if asked < 70 {
		t.Errorf("only %d statements were explained", asked)
	}
}

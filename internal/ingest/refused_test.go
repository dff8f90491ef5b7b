package ingest

import (
	"fmt"
	"strings"
	"testing"
	"time"
)

// A file whose every row is wrong keeps its first refused rows and counts the rest.
func TestRefusedRowsAreBounded(t *testing.T) {
	const rows = 200_000
	var b strings.Builder
	b.WriteString("time,temperature\n2026-02-01 00:00,7\n2026-02-01 01:00,7\n")
	for i := range rows {
		fmt.Fprintf(&b, "2026-02-01 02:00,7.%d\n", i%9)
	}
	res, err := Read([]byte(b.String()), Answers{Unit: "Cel"}, time.UTC)
	if err != nil {
		t.Fatal(err)
	}
	if len(res.Refused) != 5000 || len(res.Refused)+res.More != rows || res.LastRefused != rows+3 ||
		len(res.Readings) != 2 {
		t.Errorf("%d kept, %d more to line %d, %d readings", len(res.Refused), res.More, res.LastRefused,
			len(res.Readings))
	}
}

package ingest

import "strings"

// unroll rewrites a file whose columns are parted by spaces with a tab between
// cells; false when it is none. Lines stay lines. Columns that stand below each
// other are cut where every line of data has a space, so that an empty cell stays
// empty; ragged lines are cut at each run of spaces when all have as many words.
func (t *table) unroll() bool {
	var data []int
	words := -1
	for i, line := range t.rows {
		f := strings.Fields(line)
		if !startsWithDate(f) {
			continue
		}
		data = append(data, i)
		switch {
		case words < 0:
			words = len(f)
		case words != len(f):
			words = 0
		}
	}
	if len(data) < 2 || words == 1 {
		return false
	}
	spans := t.spans(data)
	cut := func(line string) []string { return joinHalves(strings.Fields(line)) }
	head := cut
	if words == 0 || len(spans) == words {
		if spans = t.joinSpans(spans, data); len(spans) < 2 {
			return false
		}
		cut = func(line string) []string { return cutSpans(line, spans) }
		head = func(line string) []string { return headSpans(line, spans) }
	}
	out := make([]string, len(t.rows))
	first := data[0]
	columns := len(cut(t.rows[first]))
	for i, line := range t.rows {
		switch {
		case i >= first:
			out[i] = strings.Join(cut(line), "\t")
		case i == t.above(first):
			if h := head(line); len(h) == columns {
				out[i] = strings.Join(h, "\t")
				break
			}
			out[i] = line
		default:
			out[i] = line
		}
	}
	t.rows = out
	return true
}

// above is the last line before i that holds something.
func (t *table) above(i int) int {
	for i--; i >= 0 && strings.TrimSpace(t.rows[i]) == ""; i-- {
	}
	return i
}

func startsWithDate(fields []string) bool {
	for _, f := range fields[:min(len(fields), 3)] {
		if k := kindOf(f); k == dateOnly || k == dateAndTime || k == unixTime {
			return len(fields) > 1
		}
	}
	return false
}

// spans are the runs of columns that are not blank in every line of data, each as
// its first column and the one behind its last.
func (t *table) spans(data []int) [][2]int {
	var used []bool
	for _, i := range data {
		for c, r := range []rune(t.rows[i]) {
			if c == len(used) {
				used = append(used, false)
			}
			used[c] = used[c] || r != ' '
		}
	}
	var out [][2]int
	for c := 0; c < len(used); c++ {
		if !used[c] {
			continue
		}
		from := c
		for c < len(used) && used[c] {
			c++
		}
		out = append(out, [2]int{from, c})
	}
	return out
}

// joinSpans puts a column of AM and PM to the one before it.
func (t *table) joinSpans(spans [][2]int, data []int) [][2]int {
	for k := len(spans) - 1; k > 0; k-- {
		halves := 0
		for _, i := range data {
			if half, rest := halfDay(cutSpans(t.rows[i], spans)[k]); half != 0 && rest == "" {
				halves++
			}
		}
		if halves == len(data) {
			spans[k-1][1] = spans[k][1]
			spans = append(spans[:k], spans[k+1:]...)
		}
	}
	return spans
}

func cutSpans(line string, spans [][2]int) []string {
	r := []rune(line)
	out := make([]string, len(spans))
	for i, s := range spans {
		to := s[1]
		if i == len(spans)-1 {
			to = len(r)
		}
		if s[0] < min(to, len(r)) {
			out[i] = strings.TrimSpace(string(r[s[0]:min(to, len(r))]))
		}
	}
	return out
}

// headSpans puts each word of a heading over the column that it shares most with,
// or that is nearest.
func headSpans(line string, spans [][2]int) []string {
	out := make([]string, len(spans))
	r := []rune(line)
	for c := 0; c < len(r); c++ {
		if r[c] == ' ' {
			continue
		}
		from := c
		for c < len(r) && r[c] != ' ' {
			c++
		}
		best, most := 0, -1<<30
		for i, s := range spans {
			if shared := min(c, s[1]) - max(from, s[0]); shared > most {
				best, most = i, shared
			}
		}
		out[best] = strings.TrimSpace(out[best] + " " + string(r[from:c]))
	}
	return out
}

// joinHalves puts AM and PM back to their time.
func joinHalves(cells []string) []string {
	out := cells[:0:0]
	for _, c := range cells {
		if half, rest := halfDay(c); half != 0 && rest == "" && len(out) > 0 && kindOf(out[len(out)-1]) != noStamp {
			out[len(out)-1] += " " + c
			continue
		}
		out = append(out, c)
	}
	return out
}

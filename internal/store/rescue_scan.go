package store

import (
	"context"
	"fmt"
	"slices"
	"strings"
)

// roots reads where the tables begin, those of entries and the other trees.
func (s *rescue) roots() (tables []root, other []uint32) {
	todo, done := []uint32{1}, map[uint32]bool{}
	for len(todo) > 0 {
		no := todo[0]
		todo = todo[1:]
		t, ok := s.tree(no)
		if done[no] || !ok || (t.kind != tableLeaf && t.kind != tableInner) {
			continue
		}
		done[no], s.seen[no] = true, true
		s.out.Broken += min(t.bad, 1)
		todo = append(todo, t.children...)
		for _, r := range t.records {
			if len(r.values) != 5 {
				continue
			}
			kind, _ := r.values[0].(string)
			name, _ := r.values[1].(string)
			at, _ := r.values[3].(int64)
			switch {
			case kind == "table" && s.shapes[name] != nil:
				tables = append(tables, root{name, uint32(at)})
			case at > 0:
				other = append(other, uint32(at))
			}
		}
	}
	return tables, other
}

// walk reads a table from page no on.
func (s *rescue) walk(ctx context.Context, to *shape, no uint32, depth int) error {
	if no > s.count {
		s.cut[no] = true
		return nil
	}
	t, ok := s.tree(no)
	if s.seen[no] || !ok || depth > 20 || (t.kind == tableLeaf || t.kind == tableInner) != to.byRowid {
		return nil
	}
	s.seen[no] = true
	s.out.Broken += min(t.bad, 1)
	for _, r := range t.records {
		if _, err := s.keep(ctx, to, r, placed); err != nil {
			return err
		}
	}
	for _, child := range t.children {
		if err := s.walk(ctx, to, child, depth+1); err != nil {
			return err
		}
	}
	return nil
}

// mark passes over a tree that holds no entries.
func (s *rescue) mark(no uint32, depth int) {
	t, ok := s.tree(no)
	if s.seen[no] || !ok || depth > 20 {
		return
	}
	s.seen[no] = true
	for _, child := range t.children {
		s.mark(child, depth+1)
	}
}

// guess finds the table of a row by its shape: the first that takes it.
func (s *rescue) guess(ctx context.Context, r record, byRowid bool, how int) error {
	for _, to := range s.byWidth() {
		if to.byRowid != byRowid || !telling(to, r) {
			continue
		}
		if took, err := s.keep(ctx, to, r, how); took || err != nil {
			return err
		}
	}
	return nil
}

// telling reports whether a row has enough of the table to be taken for its own:
// the keys of indexes are short rows too.
func telling(to *shape, r record) bool {
	return len(r.values) >= 5 && len(to.stored)-len(r.values) <= 6
}

// byWidth lists the tables, those with the most columns first.
func (s *rescue) byWidth() []*shape {
	var out []*shape
	for _, x := range s.shapes {
		out = append(out, x)
	}
	slices.SortFunc(out, func(a, b *shape) int {
		return first(len(b.stored)-len(a.stored),
			strings.Compare(a.name, b.name))
	})
	return out
}

// scan tries every byte of a ruined page as the beginning of a row.
func (s *rescue) scan(ctx context.Context, no uint32) error {
	b := s.read(no)
	for at := 0; at < len(b)-8; at++ {
		for _, withRowid := range []bool{false, true} {
			r, ok := s.record(b, at, withRowid)
			if !ok || len(r.values) < 5 {
				continue
			}
			if err := s.guess(ctx, r, withRowid, scanned); err != nil {
				return err
			}
		}
	}
	return nil
}

// keep stores a row unless it is there; took is false when it is not of the table.
func (s *rescue) keep(ctx context.Context, to *shape, r record, how int) (took bool, err error) {
	vals, ok := to.row(r)
	t := s.found[to.name]
	if t == nil {
		t = &RescuedTable{Name: to.name}
		s.found[to.name] = t
	}
	if ok {
		var names []string
		for _, c := range to.stored[:len(vals)] {
			names = append(names, c.name)
		}
		err = s.c.insert(ctx, to.name, strings.Join(names, ", "), vals...)
	}
	switch c := code(err); {
	case !ok, c&0xff == codeConstraint && c != codePrimaryKey && c != codeUnique:
		if how == placed {
			t.Refused++
		}
		return false, nil
	case c == codePrimaryKey || c == codeUnique: // it is there already, perhaps newer
		return true, nil
	case err != nil:
		return false, fmt.Errorf("%s: %w", to.name, err)
	}
	t.Rows++
	switch how {
	case loose:
		t.Loose++
	case scanned:
		t.Scanned++
	}
	return true, nil
}

package store

import (
	"context"
	"encoding/binary"
	"errors"
	"maps"
	"path/filepath"
	"slices"
	"time"
)

// Rescued says what Rescue read and what it could not.
type Rescued struct {
	Pages  int // of the file with its write-ahead log
	Broken int // of them that hold something that makes no sense
	Cut    int // pages that the file had and has no more
	Log    int // frames of the write-ahead log that are damaged
	Tables []RescuedTable
	// Standing counts what was made in the place of lost rows on which others
	// rest: schools, tanks, lots and seasons.
	Standing int
}

// RescuedTable is one table with rows that were read. Loose rows were found on
// pages that lead nowhere, Scanned ones on pages that are damaged: an older form
// of the row is possible. Refused rows broke a rule of the logbook.
type RescuedTable struct {
	Name                          string
	Rows, Loose, Scanned, Refused int
}

// Rows is the number of rows that were read.
func (r *Rescued) Rows() (n int) {
	for _, t := range r.Tables {
		n += t.Rows
	}
	return n
}

// Whole reports whether nothing is known to be missing.
func (r *Rescued) Whole() bool {
	refused := 0
	for _, t := range r.Tables {
		refused += t.Refused + t.Loose + t.Scanned
	}
	return r.Broken+r.Cut+r.Log+r.Standing+refused == 0
}

// Rescue reads what can be read of the logbook in folder dir, page by page and
// without SQLite, and makes a logbook of it in the empty folder into. Nothing in
// dir is written. Tokens and open sign-ins are not taken along.
func Rescue(ctx context.Context, dir, into string, now time.Time) (r Rescued, err error) {
	defer func() { err = wrap("rescue", err) }()
	m, err := openImage(filepath.Join(dir, FileName))
	if err != nil {
		return r, err
	}
	defer func() { err = errors.Join(err, m.close()) }()
	m.page = orDefault(m.page)
	d, err := Open(ctx, into, Options{Now: now, Scratch: true})
	if err != nil {
		return r, err
	}
	defer func() { err = errors.Join(err, d.Close()) }()
	shapes, err := d.shapes(ctx)
	if err != nil {
		return r, err
	}
	if err := d.dropGuards(ctx); err != nil {
		return r, err
	}
	s := rescue{pages: pages{from: m, count: uint32(m.size / int64(m.page)), seen: map[uint32]bool{}}, shapes: shapes,
		out:   &r,
		found: map[string]*RescuedTable{}, cut: map[uint32]bool{}}
	r.Log = m.broken
	err = onConn(ctx, d.writer, func(c *conn) error {
		if _, err := c.exec(ctx, "PRAGMA foreign_keys = 0"); err != nil {
			return err
		}
		return c.tx(ctx, "BEGIN IMMEDIATE", func(c *conn) error {
			s.c = c
			if err := s.all(ctx); err != nil {
				return err
			}
			if r.Standing, err = standIn(ctx, c, now); err != nil {
				return err
			}
			_, err := c.exec(ctx, "INSERT OR IGNORE INTO write_count (num, n) VALUES (1, 0)")
			return err
		})
	})
	for _, name := range slices.Sorted(maps.Keys(s.found)) {
		r.Tables = append(r.Tables, *s.found[name])
	}
	return r, err
}

// dropGuards takes off what keeps a person from storing an old revision.
func (d *DB) dropGuards(ctx context.Context) error {
	names, err := pragmaText(ctx, d.writer, "SELECT name FROM sqlite_schema WHERE type = 'trigger'")
	if err != nil {
		return err
	}
	for _, n := range names {
		if _, err := d.writer.ExecContext(ctx, `DROP TRIGGER "`+n+`"`); err != nil {
			return err
		}
	}
	_, err = d.writer.ExecContext(ctx, "DELETE FROM write_count")
	return err
}

// rescue is one run.
type rescue struct {
	pages
	c      *conn
	shapes map[string]*shape
	found  map[string]*RescuedTable
	cut    map[uint32]bool // pages behind the end of the file
	out    *Rescued
}

// How a row was found.
const (
	placed = iota // its table says where
	loose
	scanned
)

// all walks the tables from their roots, then looks at the pages that no root
// led to, and at last into those that are no pages any more.
func (s *rescue) all(ctx context.Context) error {
	s.out.Pages = int(s.count)
	roots, other := s.roots()
	for _, name := range roots {
		if err := s.walk(ctx, s.shapes[name.table], name.root, 0); err != nil {
			return err
		}
	}
	for _, no := range other { // indexes, and tables that are not rescued
		s.mark(no, 0)
	}
	s.markFree()
	s.out.Cut = max(len(s.cut), s.missing())
	var ruined []uint32
	for no := uint32(1); no <= s.count; no++ {
		if s.seen[no] {
			continue
		}
		b := s.read(no)
		t, ok := s.tree(no)
		switch {
		case b != nil && empty(b):
		case !ok:
			ruined = append(ruined, no)
		default:
			s.out.Broken += min(t.bad, 1)
			for _, r := range t.records {
				if err := s.guess(ctx, r, t.kind == tableLeaf, loose); err != nil {
					return err
				}
			}
		}
	}
	for _, no := range ruined {
		if s.seen[no] { // it goes on with a row that was found since
			continue
		}
		s.out.Broken++
		if err := s.scan(ctx, no); err != nil {
			return err
		}
	}
	return nil
}

// missing returns how many pages more the head of the file tells of than there
// are; a head that tells of four times as many is not believed.
func (s *rescue) missing() int {
	head := s.read(1)
	if head == nil || string(head[:15]) != "SQLite format 3" {
		return 0
	}
	if n := binary.BigEndian.Uint32(head[28:]); n > s.count && n/4 < s.count {
		return int(n - s.count)
	}
	return 0
}

// markFree passes over the list of free pages.
func (s *rescue) markFree() {
	head := s.read(1)
	if head == nil {
		return
	}
	for no := binary.BigEndian.Uint32(head[32:]); !s.seen[no]; {
		b := s.read(no)
		if b == nil || binary.BigEndian.Uint32(b[4:]) > uint32(len(b)/4-2) {
			return
		}
		s.seen[no] = true
		for i := range binary.BigEndian.Uint32(b[4:]) {
			s.seen[binary.BigEndian.Uint32(b[8+4*i:])] = true
		}
		no = binary.BigEndian.Uint32(b)
	}
}

func empty(b []byte) bool {
	return !slices.ContainsFunc(b, func(x byte) bool { return x != 0 })
}

type root struct {
	table string
	root  uint32
}

package store

import (
	"encoding/binary"
	"math"
	"unicode/utf8"
)

// Kinds of b-tree pages, by their first byte
// (https://www.sqlite.org/fileformat2.html#b_tree_pages, read).
const (
	indexInner = 0x02
	tableInner = 0x05
	indexLeaf  = 0x0a
	tableLeaf  = 0x0d
)

// pages reads the pages of a damaged file. Nothing in it is trusted: what makes no
// sense is not there.
type pages struct {
	from  *image
	count uint32
	seen  map[uint32]bool // pages that belong to something found
}

// record is one row as it is stored: of a table with a rowid, or of one that is
// kept in the order of its key.
type record struct {
	rowid  int64
	values []any // nil, int64, float64, string, []byte
}

// btree is what can be read of one page of a tree.
type btree struct {
	kind     byte
	children []uint32
	records  []record
	bad      int // cells that make no sense
}

// read returns page no (from 1), or nil.
func (p *pages) read(no uint32) []byte {
	if no == 0 || no > p.count {
		return nil
	}
	b := make([]byte, p.from.page)
	if n, _ := p.from.ReadAt(b, int64(no-1)*int64(p.from.page)); n < len(b) {
		return nil
	}
	return b
}

// tree reads page no as a page of a tree; false when it is none.
func (p *pages) tree(no uint32) (t btree, ok bool) {
	b := p.read(no)
	if b == nil {
		return t, false
	}
	at := 0
	if no == 1 {
		at = 100 // behind the head of the file
	}
	t.kind = b[at]
	head := 8
	switch t.kind {
	case indexInner, tableInner:
		head = 12
	case indexLeaf, tableLeaf:
	default:
		return t, false
	}
	cells := int(binary.BigEndian.Uint16(b[at+3:]))
	if at+head+2*cells > len(b) {
		return t, false
	}
	for i := range cells {
		cell := int(binary.BigEndian.Uint16(b[at+head+2*i:]))
		if cell < at+head+2*cells || cell >= len(b) || !p.cell(b, cell, &t) {
			t.bad++
		}
	}
	if head == 12 {
		t.children = append(t.children, binary.BigEndian.Uint32(b[at+8:]))
	}
	return t, true
}

// cell reads one cell of a page into t.
func (p *pages) cell(b []byte, at int, t *btree) bool {
	if t.kind == indexInner || t.kind == tableInner {
		if at+4 > len(b) {
			return false
		}
		t.children = append(t.children, binary.BigEndian.Uint32(b[at:]))
		at += 4
		if t.kind == tableInner {
			return true
		}
	}
	r, ok := p.record(b, at, t.kind == tableLeaf)
	if ok {
		t.records = append(t.records, r)
	}
	return ok
}

// record reads the row that begins at a place of a page, with what of it stands on
// further pages.
func (p *pages) record(b []byte, at int, withRowid bool) (r record, ok bool) {
	size, n := varint(b[at:])
	if n == 0 || size < 2 || size > uint64(p.from.size) {
		return r, false
	}
	at += n
	usable, most := len(b), (len(b)-12)*64/255-23
	if withRowid {
		id, n := varint(b[at:])
		if n == 0 {
			return r, false
		}
		r.rowid, at, most = int64(id), at+n, usable-35
	}
	here := int(size)
	if here > most {
		least := (usable-12)*32/255 - 23
		if here = least + (int(size)-least)%(usable-4); here > most {
			here = least
		}
	}
	if at+here > len(b) {
		return r, false
	}
	body := append([]byte(nil), b[at:at+here]...)
	if here < int(size) {
		if at+here+4 > len(b) {
			return r, false
		}
		next, used := binary.BigEndian.Uint32(b[at+here:]), []uint32{}
		for len(body) < int(size) {
			more := p.read(next)
			if more == nil || len(used) > int(p.count) {
				return r, false
			}
			used = append(used, next)
			next = binary.BigEndian.Uint32(more)
			body = append(body, more[4:min(len(more), 4+int(size)-len(body))]...)
		}
		for _, no := range used {
			p.seen[no] = true
		}
	}
	r.values, ok = columns(body)
	return r, ok
}

// columns decodes a row; it must fill its bytes to the last.
func columns(b []byte) ([]any, bool) {
	head, n := varint(b)
	if n == 0 || head > uint64(len(b)) || head < uint64(n) {
		return nil, false
	}
	types, body := b[n:head], b[head:]
	var out []any
	for len(types) > 0 {
		kind, n := varint(types)
		if n == 0 {
			return nil, false
		}
		types = types[n:]
		v, size, ok := value(kind, body)
		if !ok {
			return nil, false
		}
		out, body = append(out, v), body[size:]
	}
	return out, len(body) == 0 && len(out) > 0
}

// intSizes are the bytes of whole numbers by their type.
var intSizes = [...]int{1: 1, 2: 2, 3: 3, 4: 4, 5: 6, 6: 8}

// value decodes one value of a serial type.
func value(kind uint64, b []byte) (v any, size int, ok bool) {
	switch {
	case kind == 0:
		return nil, 0, true
	case kind <= 6:
		size = intSizes[kind]
		if size > len(b) {
			return nil, 0, false
		}
		n := int64(int8(b[0]))
		for _, x := range b[1:size] {
			n = n<<8 | int64(x)
		}
		return n, size, true
	case kind == 7:
		if len(b) < 8 {
			return nil, 0, false
		}
		return math.Float64frombits(binary.BigEndian.Uint64(b)), 8, true
	case kind == 8 || kind == 9:
		return int64(kind - 8), 0, true
	case kind < 12 || (kind-12)/2 > uint64(len(b)):
		return nil, 0, false
	}
	size = int((kind - 12) / 2)
	if kind%2 == 0 {
		return b[:size:size], size, true
	}
	return string(b[:size]), size, utf8.Valid(b[:size])
}

// varint decodes SQLite's number of 1 to 9 bytes; n is 0 when it is cut.
func varint(b []byte) (v uint64, n int) {
	for n < min(len(b), 9) {
		x := b[n]
		n++
		if n == 9 {
			return v<<8 | uint64(x), n
		}
		v = v<<7 | uint64(x&0x7f)
		if x < 0x80 {
			return v, n
		}
	}
	return 0, 0
}

package store

import (
	"encoding/binary"
	"errors"
	"io"
	"io/fs"
	"os"
	"path"
	"time"

	"reddside/internal/logbook"
)

// image is a database file as it reads together with its write-ahead log,
// without SQLite: nothing is written, locked or made, so that it can be read
// where nothing may be written. Layout of both files:
// https://www.sqlite.org/fileformat2.html (read).
type image struct {
	f, log *os.File         // log is nil without a write-ahead log
	frames map[uint32]int64 // where the log has a page
	page   int
	size   int64 // bytes
	broken int   // frames of the log that are damaged
}

// Sizes in the write-ahead log, and what SQLite takes for a page when nothing else
// is said.
const (
	logHead     = 32
	frameHead   = 24
	defaultPage = 4096
)

// openImage opens a file and its log. It is refused while a server has it open,
// because that changes the file meanwhile: error.read_only.running.
func openImage(file string) (m *image, err error) {
	m = &image{frames: map[uint32]int64{}}
	defer func() {
		if err != nil {
			err = errors.Join(err, m.close())
		}
	}()
	if m.f, err = os.Open(file); err != nil {
		return m, err
	}
	if lockedByOther(m.f) {
		return m, logbook.Errorf(logbook.Conflict, "error.read_only.running", nil)
	}
	st, err := m.f.Stat()
	if err != nil {
		return m, err
	}
	m.size = st.Size()
	head := make([]byte, 100)
	if _, err := m.f.ReadAt(head, 0); err != nil && !errors.Is(err, io.EOF) {
		return m, err
	}
	m.page = pageSize(int(binary.BigEndian.Uint16(head[16:])))
	if m.log, err = os.Open(file + "-wal"); errors.Is(err, fs.ErrNotExist) {
		m.log, err = nil, nil
	}
	if err == nil && m.log != nil {
		err = m.readLog()
	}
	return m, err
}

// pageSize returns the page size that a header names, or 0.
func pageSize(n int) int {
	if n == 1 {
		return 65536
	}
	if n < 512 || n&(n-1) != 0 {
		return 0
	}
	return n
}

// readLog finds the newest committed form of each page in the log. The checksum
// of a frame goes on from the one before, so that a damaged frame spoils itself
// and at most the next.
func (m *image) readLog() error {
	head := make([]byte, logHead)
	_, err := io.ReadFull(m.log, head)
	if errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) {
		m.page = orDefault(m.page)
		return nil
	}
	if err != nil {
		return err
	}
	be := binary.BigEndian
	order, size := binary.ByteOrder(binary.LittleEndian), int(be.Uint32(head[8:]))
	if be.Uint32(head)&1 == 1 {
		order = be
	}
	sum := checksum{order: order}
	sum.add(head[:24])
	if sum.a != be.Uint32(head[24:]) || sum.b != be.Uint32(head[28:]) || be.Uint32(head)&^1 != 0x377f0682 ||
		(m.page != 0 && m.page != pageSize(size)) {
		m.page = orDefault(m.page)
		m.broken++
		return nil
	}
	m.page = pageSize(size)
	frame, pending := make([]byte, frameHead+m.page), map[uint32]int64{}
	for at := int64(logHead); ; at += int64(len(frame)) {
		if _, err := io.ReadFull(m.log, frame); err != nil {
			if errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) {
				return nil // what was not committed does not count
			}
			return err
		}
		if string(frame[8:16]) != string(head[16:24]) {
			return nil // of an earlier round
		}
		sum.add(frame[:8])
		sum.add(frame[frameHead:])
		whole := sum.a == be.Uint32(frame[16:]) && sum.b == be.Uint32(frame[20:])
		sum.a, sum.b = be.Uint32(frame[16:]), be.Uint32(frame[20:])
		if !whole {
			m.broken++
			continue
		}
		pending[be.Uint32(frame)] = at + frameHead
		if pages := be.Uint32(frame[4:]); pages != 0 {
			for no, where := range pending {
				m.frames[no] = where
			}
			clear(pending)
			m.size = int64(pages) * int64(m.page)
		}
	}
}

func orDefault(size int) int {
	if size == 0 {
		return defaultPage
	}
	return size
}

// checksum is that of the write-ahead log.
type checksum struct {
	order binary.ByteOrder
	a, b  uint32
}

func (c *checksum) add(b []byte) {
	for ; len(b) >= 8; b = b[8:] {
		c.a += c.order.Uint32(b) + c.b
		c.b += c.order.Uint32(b[4:]) + c.a
	}
}

// ReadAt reads as if the log had been folded in, and the file had none.
func (m *image) ReadAt(b []byte, off int64) (n int, err error) {
	if off >= m.size {
		return 0, io.EOF
	}
	short := off+int64(len(b)) > m.size
	if short {
		b = b[:m.size-off]
	}
	for n < len(b) {
		at, page := off+int64(n), int64(orDefault(m.page))
		no, in := uint32(at/page)+1, at%page
		part := b[n:min(len(b), n+int(page-in))]
		var k int
		if where, ok := m.frames[no]; ok {
			k, err = m.log.ReadAt(part, where+in)
		} else {
			k, err = m.f.ReadAt(part, at)
		}
		if no == 1 { // bytes 18 and 19 say whether there is a log: 1 is no
			for i := max(18, in); i <= 19 && i < in+int64(k); i++ {
				part[i-in] = 1
			}
		}
		n += k
		if k < len(part) {
			return n, err
		}
	}
	if short {
		return n, io.EOF
	}
	return n, nil
}

func (m *image) close() error {
	var errs []error
	for _, f := range []*os.File{m.f, m.log} {
		if f != nil {
			errs = append(errs, f.Close())
		}
	}
	return errors.Join(errs...)
}

// Open shows the image as the only file of a file system, for SQLite.
func (m *image) Open(name string) (fs.File, error) {
	if path.Base(name) != FileName {
		return nil, &fs.PathError{Op: "open", Path: name, Err: fs.ErrNotExist}
	}
	return &imageFile{SectionReader: io.NewSectionReader(m, 0, m.size), size: m.size}, nil
}

// imageFile is an open image and its own description.
type imageFile struct {
	*io.SectionReader
	size int64
}

func (f *imageFile) Close() error               { return nil }
func (f *imageFile) Stat() (fs.FileInfo, error) { return imageInfo{f.size}, nil }

type imageInfo struct{ size int64 }

func (i imageInfo) Name() string     { return FileName }
func (i imageInfo) Size() int64      { return i.size }
func (imageInfo) Mode() fs.FileMode  { return 0o400 }
func (imageInfo) ModTime() time.Time { return time.Time{} }
func (imageInfo) IsDir() bool        { return false }
func (imageInfo) Sys() any           { return nil }

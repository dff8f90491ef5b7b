package picture

import (
	"bytes"
	"encoding/binary"
	"hash/crc32"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"testing"
)

// corners is a picture with a red block at its top left.
func corners(w, h int) *image.RGBA {
	m := image.NewRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			c := color.RGBA{40, 90, 160, 255}
			if x < w/4 && y < h/4 {
				c = color.RGBA{230, 20, 20, 255}
			}
			m.SetRGBA(x, y, c)
		}
	}
	return m
}

// segment is a marker segment of a JPEG file.
func segment(marker byte, body []byte) []byte {
	out := []byte{0xff, marker}
	out = binary.BigEndian.AppendUint16(out, uint16(len(body)+2))
	return append(out, body...)
}

// exif is an APP1 block as a telephone writes it: orientation, maker, and a
// position of 45 30 0 N, 63 15 0 W in a GPS directory (Exif 2.3; layout from
// memory, sure).
func exif(order binary.AppendByteOrder, turn uint16) []byte {
	mark := "MM"
	if order == binary.LittleEndian {
		mark = "II"
	}
	b := append([]byte(mark), 0, 0)
	b = order.AppendUint16(b[:2], 42)
	b = order.AppendUint32(b, 8)
	entry := func(tag, kind uint16, n, value uint32) {
		b = order.AppendUint16(b, tag)
		b = order.AppendUint16(b, kind)
		b = order.AppendUint32(b, n)
		b = order.AppendUint32(b, value)
	}
	b = order.AppendUint16(b, 3)
	entry(0x010f, 2, 12, 50) // maker, at 50
	b = order.AppendUint16(b, 0x0112)
	b = order.AppendUint16(b, 3)
	b = order.AppendUint32(b, 1)
	b = order.AppendUint16(b, turn)
	b = order.AppendUint16(b, 0)
	entry(0x8825, 4, 1, 62) // GPS directory, at 62
	b = order.AppendUint32(b, 0)
	b = append(b, "INVENTEDCAM\x00"...)
	b = order.AppendUint16(b, 2)
	entry(2, 5, 3, 92)
	entry(4, 5, 3, 116)
	b = order.AppendUint32(b, 0)
	for _, v := range []uint32{45, 1, 30, 1, 0, 1, 63, 1, 15, 1, 0, 1} {
		b = order.AppendUint32(b, v)
	}
	return segment(0xe1, append([]byte("Exif\x00\x00"), b...))
}

func file(t *testing.T, m image.Image, extra ...[]byte) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := jpeg.Encode(&b, m, &jpeg.Options{Quality: 95}); err != nil {
		t.Fatal(err)
	}
	out := bytes.Clone(b.Bytes()[:2])
	for _, s := range extra {
		out = append(out, s...)
	}
	return append(out, b.Bytes()[2:]...)
}

// markers lists the segments before the picture data.
func markers(t *testing.T, data []byte) []byte {
	t.Helper()
	var out []byte
	for i := 2; i+4 <= len(data); i += 2 + int(binary.BigEndian.Uint16(data[i+2:])) {
		if data[i] != 0xff {
			t.Fatalf("no marker at %d", i)
		}
		out = append(out, data[i+1])
		if data[i+1] == 0xda {
			break
		}
	}
	return out
}

func TestNothingButThePicture(t *testing.T) {
	xmp := segment(0xe1, []byte("http://ns.adobe.com/xap/1.0/\x00<x:xmpmeta><exif:GPSLatitude>45,30.0N</exif:GPSLatitude></x:xmpmeta>"))
	iptc := segment(0xed, []byte("Photoshop 3.0\x00City: Inventedville"))
	said := segment(0xfe, []byte("taken at the invented school"))
	in := file(t, corners(80, 40), exif(binary.BigEndian, 1), xmp, iptc, said)
	if !bytes.Contains(in, []byte("INVENTEDCAM")) || !bytes.Contains(in, []byte("GPSLatitude")) {
		t.Fatal("the file of the test carries no metadata")
	}
	out, w, h, err := Clean(in)
	if err != nil || w != 80 || h != 40 {
		t.Fatalf("%d x %d, %v", w, h, err)
	}
	for _, m := range markers(t, out) {
		if m >= 0xe0 && m <= 0xef || m == 0xfe {
			t.Errorf("segment %x is left", m)
		}
	}
	for _, s := range []string{"Exif", "GPS", "INVENTEDCAM", "adobe", "Inventedville", "school"} {
		if bytes.Contains(out, []byte(s)) {
			t.Errorf("%q is left", s)
		}
	}
	out, _, _, err = Clean(append(file(t, corners(8, 8)), "hidden at the end"...))
	if err != nil || bytes.Contains(out, []byte("hidden")) {
		t.Errorf("what stands behind the picture: %v", err)
	}
}

// Each orientation says where the top left of the file belongs: the corners of
// the eight letters F of the standard (Exif 2.3, tag 0x0112; from memory, sure).
func TestUpright(t *testing.T) {
	for turn, corner := range map[uint16][2]int{1: {0, 0}, 2: {1, 0}, 3: {1, 1}, 4: {0, 1}, 5: {0, 0}, 6: {1, 0},
		7: {1, 1}, 8: {0, 1}} {
		for _, order := range []binary.AppendByteOrder{binary.BigEndian, binary.LittleEndian} {
			out, w, h, err := Clean(file(t, corners(160, 80), exif(order, turn)))
			if err != nil {
				t.Fatal(err)
			}
			if tall := turn >= 5; (h > w) != tall {
				t.Errorf("orientation %d: %d x %d", turn, w, h)
			}
			m, err := jpeg.Decode(bytes.NewReader(out))
			if err != nil {
				t.Fatal(err)
			}
			for cx := range 2 {
				for cy := range 2 {
					r, _, b, _ := m.At(4+cx*(w-9), 4+cy*(h-9)).RGBA()
					if red := r > b; red != (corner == [2]int{cx, cy}) {
						t.Errorf("orientation %d: corner %d %d is red: %v", turn, cx, cy, red)
					}
				}
			}
		}
	}
}

func TestSizes(t *testing.T) {
	out, w, h, err := Clean(file(t, corners(3200, 1000)))
	if err != nil || w != MaxSide || h != 500 {
		t.Errorf("%d x %d, %v", w, h, err)
	}
	m, err := jpeg.Decode(bytes.NewReader(out))
	if err != nil {
		t.Fatal(err)
	}
	if r, _, b, _ := m.At(20, 20).RGBA(); r < b {
		t.Error("the red corner is lost")
	}
	if _, w, h, err := Clean(file(t, corners(9000, 2))); err != nil || w != MaxSide || h != 1 {
		t.Errorf("%d x %d, %v", w, h, err)
	}
}

func TestPNGAndRefusals(t *testing.T) {
	var b bytes.Buffer
	if err := png.Encode(&b, image.NewNRGBA(image.Rect(0, 0, 20, 10))); err != nil { // clear all over
		t.Fatal(err)
	}
	out, w, h, err := Clean(b.Bytes())
	if err != nil || w != 20 || h != 10 {
		t.Fatalf("%d x %d, %v", w, h, err)
	}
	m, err := jpeg.Decode(bytes.NewReader(out))
	if err != nil {
		t.Fatal(err)
	}
	if r, _, _, _ := m.At(10, 5).RGBA(); r < 0xf000 {
		t.Errorf("what is clear is not white: %x", r)
	}
	for name, data := range map[string][]byte{"nothing": nil, "text": []byte("GIF89a, says the name"),
		"half":     file(t, corners(80, 40))[:200],
		"web page": []byte("<svg onload=alert(1)>")} {
		if _, _, _, err := Clean(data); err != ErrKind {
			t.Errorf("%s: %v", name, err)
		}
	}
	// A small file that claims to be huge.
	huge := bytes.Clone(b.Bytes())
	binary.BigEndian.PutUint32(huge[16:], 60000)
	binary.BigEndian.PutUint32(huge[20:], 60000)
	if _, _, _, err := Clean(huge); err != ErrKind && err != ErrLarge {
		t.Errorf("huge: %v", err)
	}
}

// claimed is a picture file that says it is larger than it is.
func claimed(t *testing.T, m image.Image, w, h uint32) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := png.Encode(&b, m); err != nil {
		t.Fatal(err)
	}
	data := b.Bytes()
	binary.BigEndian.PutUint32(data[16:], w)
	binary.BigEndian.PutUint32(data[20:], h)
	binary.BigEndian.PutUint32(data[29:], crc32.ChecksumIEEE(data[12:29]))
	return data
}

// What decoding would take is known before it: a deep picture may have fewer
// pixels than a flat one.
func TestMemoryIsBounded(t *testing.T) {
	small := image.Rect(0, 0, 8, 8)
	for name, x := range map[string]struct {
		data []byte
		want error
	}{
		"16 bits a channel":             {claimed(t, image.NewNRGBA64(small), 7000, 7000), ErrLarge},
		"16 bits, as from a camera":     {claimed(t, image.NewNRGBA64(small), 4000, 3000), ErrKind}, // it breaks off
		"8 bits with clear":             {claimed(t, image.NewNRGBA(small), 7000, 7000), ErrLarge},
		"grey":                          {claimed(t, image.NewGray(small), 7000, 7000), ErrKind},
		"one line of 40 million":        {claimed(t, image.NewGray(small), 40_000_000, 1), ErrLarge},
		"progressive JPEG":              {jpegOf(0xc2, 7000, 7000), ErrLarge},
		"progressive, as from a camera": {jpegOf(0xc2, 4000, 3000), ErrKind},
		"JPEG, as from a camera":        {jpegOf(0xc0, 7000, 7000), ErrKind},
	} {
		if _, _, _, err := Clean(x.data); err != x.want {
			t.Errorf("%s: %v, want %v", name, err, x.want)
		}
	}
}

// jpegOf is a JPEG that breaks off after its frame header, 4:2:0 as cameras write.
func jpegOf(marker byte, w, h uint16) []byte {
	b := binary.BigEndian.AppendUint16([]byte{8}, h)
	b = binary.BigEndian.AppendUint16(b, w)
	head := append([]byte{0xff, 0xd8}, segment(0xe0, []byte("JFIF\x00\x01\x01\x00\x00\x01\x00\x01\x00\x00"))...)
	return append(head, segment(marker, append(b, 3, 1, 0x22, 0, 2, 0x11, 0, 3, 0x11, 0))...)
}

func FuzzClean(f *testing.F) {
	var b bytes.Buffer
	_ = jpeg.Encode(&b, corners(8, 8), nil)
	f.Add(b.Bytes())
	f.Add(append(append(bytes.Clone(b.Bytes()[:2]), exif(binary.BigEndian, 6)...), b.Bytes()[2:]...))
	f.Fuzz(func(t *testing.T, data []byte) {
		if c, _, err := image.DecodeConfig(bytes.NewReader(data)); err == nil && c.Width*c.Height > 1<<16 {
			return // time, not safety
		}
		out, w, h, err := Clean(data)
		if err != nil {
			return
		}
		if c, err := jpeg.DecodeConfig(bytes.NewReader(out)); err != nil || c.Width != w || c.Height != h {
			t.Errorf("%v %v", c, err)
		}
	})
}

package picture

import (
	"bytes"
	"encoding/binary"
)

// orientation finds the EXIF orientation of a JPEG file, 1 when it has none. It
// reads nothing else: the rest of the metadata is thrown away.
func orientation(data []byte) int {
	const start, scan, app1 = 0xd8, 0xda, 0xe1
	for i := 2; i+4 <= len(data) && data[0] == 0xff && data[1] == start; {
		if data[i] != 0xff {
			return 1
		}
		marker, n := data[i+1], int(binary.BigEndian.Uint16(data[i+2:]))
		if marker == 0xff { // filling
			i++
			continue
		}
		if marker == scan || n < 2 || i+2+n > len(data) {
			return 1
		}
		if body, ok := bytes.CutPrefix(data[i+4:i+2+n], []byte("Exif\x00\x00")); marker == app1 && ok {
			return tiffOrientation(body)
		}
		i += 2 + n
	}
	return 1
}

// tiffOrientation reads tag 0x0112 of the first directory of a TIFF block.
func tiffOrientation(b []byte) int {
	if len(b) < 8 {
		return 1
	}
	var order binary.ByteOrder = binary.BigEndian
	if string(b[:2]) == "II" {
		order = binary.LittleEndian
	}
	at := int64(order.Uint32(b[4:]))
	if at+2 > int64(len(b)) {
		return 1
	}
	entries := int(order.Uint16(b[at:]))
	for e := range entries {
		i := at + 2 + 12*int64(e)
		if i+12 > int64(len(b)) {
			return 1
		}
		if order.Uint16(b[i:]) == 0x0112 {
			if v := int(order.Uint16(b[i+8:])); v >= 1 && v <= 8 {
				return v
			}
			return 1
		}
	}
	return 1
}

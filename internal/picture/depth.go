package picture

import "image/color"

// depth is how many bytes decoding takes for a pixel, about.
func depth(data []byte, kind string, model color.Model) float64 {
	if kind == "jpeg" {
		return jpegDepth(data)
	}
	bytes := 4.0
	switch model {
	case color.GrayModel:
		bytes = 1
	case color.Gray16Model:
		bytes = 2
	case color.RGBA64Model, color.NRGBA64Model:
		bytes = 8
	default:
		if _, ok := model.(color.Palette); ok {
			bytes = 1
		}
	}
	// The last pass of an interlaced picture, half of its pixels, is decoded
	// beside it (PNG specification, 8.2; the method is the last byte of IHDR).
	if len(data) > 28 && data[28] == 1 {
		bytes *= 1.5
	}
	return bytes
}

// jpegDepth reads it from the frame header (ITU-T T.81, B.2.2): a byte for each
// sample, and four more where all passes are kept before the first is drawn.
func jpegDepth(data []byte) float64 {
	const worst = 4 * 5
	for i := 2; i+4 <= len(data); {
		if data[i] != 0xff {
			return worst
		}
		marker := data[i+1]
		if marker == 0xff { // fill
			i++
			continue
		}
		size := int(data[i+2])<<8 | int(data[i+3])
		if marker < 0xc0 || marker > 0xc2 {
			i += 2 + size
			continue
		}
		if i+10 > len(data) || i+10+3*int(data[i+9]) > len(data) {
			return worst
		}
		samples, most := 0, [2]int{1, 1}
		for c := range int(data[i+9]) {
			f := data[i+11+3*c]
			h, v := int(f>>4), int(f&15)
			samples += h * v
			most = [2]int{max(most[0], h), max(most[1], v)}
		}
		bytes := float64(samples) / float64(most[0]*most[1])
		if marker == 0xc2 { // progressive
			bytes *= 5
		}
		return bytes
	}
	return worst
}

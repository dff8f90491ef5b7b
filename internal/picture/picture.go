// Package picture makes a photograph fit to be kept: small, upright, and without
// anything but the picture. A camera writes place, time and its own number into a
// file; decoding and encoding anew leaves all of that behind.
package picture

import (
	"bytes"
	"errors"
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"image/jpeg"
	_ "image/png" // a screen shot is one
)

// Bounds of a photograph. The longest side of what is kept fits a printed page;
// the others are local choices.
const (
	MaxSide   = 1600       // pixels of the longest side that is kept
	maxPixels = 50_000_000 // of a file that is read: what telephones make, and no bomb
	maxLong   = 65_535     // pixels of a side that is read, as in a JPEG
	maxMemory = 160 << 20  // bytes that decoding takes: those pixels of a JPEG, fewer of a deeper picture
	quality   = 82
)

// Errors of Clean.
var (
	ErrKind  = errors.New("not a JPEG or PNG picture")
	ErrLarge = errors.New("too many pixels")
)

// Clean decodes a JPEG or PNG file, turns it upright, scales it down to MaxSide
// and encodes it as a plain JPEG without any metadata. It returns ErrKind for what
// cannot be decoded and ErrLarge for too many pixels.
func Clean(data []byte) (out []byte, width, height int, err error) {
	head, kind, err := image.DecodeConfig(bytes.NewReader(data))
	if err != nil || head.Width < 1 || head.Height < 1 {
		return nil, 0, 0, ErrKind
	}
	if max(head.Width, head.Height) > maxLong || head.Width > maxPixels/head.Height ||
		float64(head.Width*head.Height)*depth(data, kind, head.ColorModel) > maxMemory {
		return nil, 0, 0, ErrLarge
	}
	src, _, err := image.Decode(bytes.NewReader(data))
	if err != nil {
		return nil, 0, 0, ErrKind
	}
	turn := 1
	if kind == "jpeg" {
		turn = orientation(data)
	}
	img := turned(shrunk(src), turn)
	var b bytes.Buffer
	if err := jpeg.Encode(&b, img, &jpeg.Options{Quality: quality}); err != nil {
		return nil, 0, 0, fmt.Errorf("encode picture: %w", err)
	}
	return b.Bytes(), img.Bounds().Dx(), img.Bounds().Dy(), nil
}

// shrunk scales a picture down to MaxSide, on white, so that what is clear in it
// does not become black: each new pixel is the mean of the old ones that it
// covers. It works band by band, since a whole copy of a large picture is more
// memory than a small computer has.
func shrunk(src image.Image) *image.RGBA {
	from := src.Bounds()
	w, h := from.Dx(), from.Dy()
	nw, nh := w, h
	if long := max(w, h); long > MaxSide {
		nw, nh = max(1, w*MaxSide/long), max(1, h*MaxSide/long)
	}
	out := image.NewRGBA(image.Rect(0, 0, nw, nh))
	band := image.NewRGBA(image.Rect(0, 0, w, h/nh+1))
	for y := range nh {
		y0, y1 := y*h/nh, (y+1)*h/nh
		rows := image.Rect(0, 0, w, y1-y0)
		draw.Draw(band, rows, image.NewUniform(color.White), image.Point{}, draw.Src)
		draw.Draw(band, rows, src, from.Min.Add(image.Pt(0, y0)), draw.Over)
		for x := range nw {
			x0, x1 := x*w/nw, (x+1)*w/nw
			var sum [3]int
			for yy := range y1 - y0 {
				row := band.Pix[yy*band.Stride+4*x0 : yy*band.Stride+4*x1]
				for i := 0; i < len(row); i += 4 {
					sum[0] += int(row[i])
					sum[1] += int(row[i+1])
					sum[2] += int(row[i+2])
				}
			}
			n := (y1 - y0) * (x1 - x0)
			o := out.Pix[y*out.Stride+4*x:]
			o[0], o[1], o[2], o[3] = byte((sum[0]+n/2)/n), byte((sum[1]+n/2)/n), byte((sum[2]+n/2)/n), 255
		}
	}
	return out
}

// turned applies an EXIF orientation, 1 to 8 (1 leaves the picture as it is): the
// number says where the first row and column of the file belong (Exif 2.3, tag
// 0x0112; from memory, sure).
func turned(src *image.RGBA, turn int) *image.RGBA {
	if turn < 2 || turn > 8 {
		return src
	}
	w, h := src.Bounds().Dx(), src.Bounds().Dy()
	nw, nh := w, h
	if turn >= 5 { // rows become columns
		nw, nh = h, w
	}
	out := image.NewRGBA(image.Rect(0, 0, nw, nh))
	for y := range h {
		for x := range w {
			to := [9][2]int{2: {w - 1 - x, y}, 3: {w - 1 - x, h - 1 - y}, 4: {x, h - 1 - y}, 5: {y, x},
				6: {h - 1 - y, x},
				7: {h - 1 - y, w - 1 - x}, 8: {y, w - 1 - x}}[turn]
			copy(out.Pix[to[1]*out.Stride+4*to[0]:], src.Pix[y*src.Stride+4*x:y*src.Stride+4*x+4])
		}
	}
	return out
}

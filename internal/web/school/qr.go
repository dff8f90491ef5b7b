package school

import (
	"fmt"
	"strings"

	goqr "github.com/piglig/go-qr"
)

// qrQuiet is the empty margin of a QR code in modules (ISO/IEC 18004 asks for 4;
// from memory).
const qrQuiet = 4

// NewQR draws a text as a QR code: one path of unit squares.
func NewQR(text string) (QR, error) {
	q, err := goqr.EncodeText(text, goqr.Medium)
	if err != nil {
		return QR{}, fmt.Errorf("make a QR code: %w", err)
	}
	var b strings.Builder
	for y := range q.Size() {
		for x := 0; x < q.Size(); x++ {
			run := 0
			for x+run < q.Size() && q.Module(x+run, y) {
				run++
			}
			if run > 0 {
				fmt.Fprintf(&b, "M%d %dh%dv1h-%dz", x+qrQuiet, y+qrQuiet, run, run)
				x += run
			}
		}
	}
	return QR{Text: text, Size: q.Size() + 2*qrQuiet, Path: b.String()}, nil
}

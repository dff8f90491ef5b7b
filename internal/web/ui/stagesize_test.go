package ui

import (
	"testing"

	"reddside/internal/logbook"
)

// Sizes of Atlantic salmon as published: eggs 5.3 to 6.5 mm (from volumes of 0.078
// to 0.144 cm³) and alevins at hatch 16.2 to 20.9 mm in 2 to 12 °C (Peterson et
// al. 1977, tables 5 and 6, read); fry at first feeding 27 to 30 mm (same, figure
// 6, read). Parr and smolts have no source.
func TestStagesAreDrawnAtTheirSize(t *testing.T) {
	for stage, mm := range map[logbook.Stage][2]float64{logbook.GreenEgg: {5.3, 6.5}, logbook.EyedEgg: {5.3, 6.5},
		logbook.Alevin: {16.2, 20.9}, logbook.Fry: {27, 30}} {
		if z := stageSizes[stage]; z.MM < mm[0] || z.MM > mm[1] {
			t.Errorf("%s is %g mm, published %g to %g", stage, z.MM, mm[0], mm[1])
		}
	}
	for _, stage := range logbook.Stages() {
		z, ok := stageSizes[stage]
		if bar := float64(z.Bar) * z.PerMM; !ok || z.Length() > 108 || bar < 20 || bar > 60 {
			t.Errorf("%s: %g long beside a bar of %g does not fit the drawing", stage, z.Length(), bar)
		}
	}
}

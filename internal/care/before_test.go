package care_test

import (
	"testing"

	"reddside/internal/care"
	"reddside/internal/civil"
)

// Dates count back from the delivery, the earliest first; the chiller is at its
// setpoint for three days.
func TestBeforeTheEggsCome(t *testing.T) {
	list := care.BeforeEggs(civil.MustParse("2026-01-13"))
	by := map[string]string{}
	for i, r := range list {
		if by[r.ID] = r.By.String(); i > 0 && r.By.Before(list[i-1].By) {
			t.Errorf("%s comes too late in the list", r.ID)
		}
		if (r.Known == care.Read) != (r.Source != "") {
			t.Errorf("%s: known %q from %q", r.ID, r.Known, r.Source)
		}
	}
	if by["chiller"] != "2026-01-10" || by["filter"] != "2025-12-02" {
		t.Error(by)
	}
}

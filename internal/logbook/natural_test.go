package logbook_test

import (
	"math/rand/v2"
	"slices"
	"strings"
	"sync"
	"testing"

	"reddside/internal/logbook"
)

// Lists in the order in which a person writes them.
func TestNaturalOrder(t *testing.T) {
	nines, tens := strings.Repeat("9", 400), "1"+strings.Repeat("0", 400)
	for _, want := range [][]string{
		{"School 1", "School 2", "School 10", "School 21", "School 100"},
		{"school 1", "School 2", "school 3"},
		{"Room", "Room 3", "Room 12", "Room 12b", "Room 204"},
		{"2 Rivers", "10 Rivers", "Atelier"},
		{"Tank 2.9", "Tank 2.10", "Tank 3.1"},
		// Beyond any machine number.
		{"Tank 9", "Tank 18446744073709551615", "Tank 18446744073709551616", "Tank 99999999999999999999999"},
		{"Tank " + nines, "Tank " + tens},
		// Accents stand with their letter, not after z.
		{"Ecole 2", "École 3", "ecole 10", "Zone"},
		{"Bac 1", "Bac 1 é", "Bac 2"},
		// Digits of other scripts count by value.
		{"塔 ２", "塔 １０"},
		{"خزان ٢", "خزان ١٠"},
		// Equal but for writing: by bytes.
		{"School 007", "School 07", "School 7"},
		{"", " ", "a"},
	} {
		for i := range want {
			for j := range want {
				if got := logbook.NaturalCompare(want[i], want[j]) < 0; got != (i < j) {
					t.Errorf("%.30q before %.30q: %v", want[i], want[j], got)
				}
			}
		}
	}
}

// Any bytes have one order: nobody before itself, and never a circle.
func TestNaturalOrderIsAnOrder(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 5))
	parts := []string{"a", "B", "é", "e\u0301", "0", "1", "12", "007", " ", "-", ".", "\xff", "\x00", "塔", "٢", "🐟",
		"School "}
	names := make([]string, 120)
	for i := range names {
		for range rng.IntN(6) {
			names[i] += parts[rng.IntN(len(parts))]
		}
	}
	for _, x := range names {
		for _, y := range names {
			c := logbook.NaturalCompare(x, y)
			if c != -logbook.NaturalCompare(y, x) || (c == 0) != (x == y) {
				t.Fatalf("%q and %q: %d", x, y, c)
			}
			for _, z := range names {
				if c < 0 && logbook.NaturalCompare(y, z) < 0 && logbook.NaturalCompare(x, z) >= 0 {
					t.Fatalf("%q < %q < %q", x, y, z)
				}
			}
		}
	}
}

// Two requests sort at once.
func TestNaturalOrderAtOnce(t *testing.T) {
	var wg sync.WaitGroup
	for range 8 {
		wg.Go(func() {
			for range 200 {
				names := []string{"School 10", "School 9", "école 2", "School 2"}
				slices.SortFunc(names, logbook.NaturalCompare)
				if want := []string{"école 2", "School 2", "School 9", "School 10"}; !slices.Equal(names, want) {
					t.Error(names)
					return
				}
			}
		})
	}
	wg.Wait()
}

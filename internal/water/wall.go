package water

import (
	_ "embed"

	"reddside/internal/units"
)

// Films and conductivities of a tank wall: k of glass read; films and foam from
// memory (sure).
const (
	airFilm         = 7.7   // W/m2K, room side
	waterFilm       = 300.0 // W/m2K, tank side
	glassK          = 1.0   // W/mK
	polystyreneK    = 0.035 // W/mK
	squareMMPerM2   = 1e6
	cubicMMPerLitre = 1e6
)

// SeriesU returns the U value in W/m2K of resistances in m2K/W one behind the
// other; the sum must be from 0.001 to 100.
func SeriesU(resistances ...float64) (float64, error) {
	sum := 0.0
	for _, r := range resistances {
		if err := units.CheckRange("resistance", r, 0, 100, "m2K/W"); err != nil {
			return 0, err
		}
		sum += r
	}
	if err := units.CheckRange("resistance", sum, 0.001, 100, "m2K/W"); err != nil {
		return 0, err
	}
	return 1 / sum, nil
}

// Wall is a side of the tank: glass from 1 to 50 mm with 0 to 200 mm of
// polystyrene foam outside it.
type Wall struct {
	Glass, Foam units.Millimetres
}

// U returns the wall's U value in W/m2K, with one air film and one water film.
func (w Wall) U() (float64, error) {
	err := firstOutside(check{"glass", float64(w.Glass), 1, 50, "mm"}, check{"foam", float64(w.Foam), 0, 200, "mm"})
	if err != nil {
		return 0, err
	}
	return SeriesU(1/airFilm, float64(w.Glass)/1000/glassK, float64(w.Foam)/1000/polystyreneK, 1/waterFilm)
}

// Box is the water in a tank: inside length and width, and the water's depth.
type Box struct {
	Length, Width, Depth units.Millimetres
}

func (b Box) check() error {
	const low, high = 10, 20000
	return firstOutside(check{"length", float64(b.Length), low, high, "mm"},
		check{"width", float64(b.Width), low, high, "mm"}, check{"depth", float64(b.Depth), low, high, "mm"})
}

// Area returns the square metres of sides, bottom and lid.
func (b Box) Area() (float64, error) {
	if err := b.check(); err != nil {
		return 0, err
	}
	l, w, d := float64(b.Length), float64(b.Width), float64(b.Depth)
	return (2*l*w + 2*(l+w)*d) / squareMMPerM2, nil
}

// UA returns the tank's heat flow in W/K with the same wall on every side. It
// is an estimate from books: a warming record of the tank itself is better
// (FitUA), and an open surface loses more by evaporation.
func (b Box) UA(w Wall) (float64, error) {
	u, err := w.U()
	if err != nil {
		return 0, err
	}
	a, err := b.Area()
	return u * a, err
}

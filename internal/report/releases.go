package report

import (
	"cmp"
	"slices"
	"strings"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/units"
)

// ReleaseLine is one release in the table of the programme. What nobody told is empty.
type ReleaseLine struct {
	Event, Season              logbook.ID
	On                         civil.Date
	Permit, Water, Place       string
	Coordinates                string // as they were entered
	Count                      int
	MeanG                      units.Optional[units.Grams]
	MeanMM                     units.Optional[units.Millimetres]
	Species                    logbook.Species
	Stock, Lot, Origin, School string
	Tank, Deviations, Why      string // deviations as codes
}

// ReleaseLines are the releases of a season. The permit is the one that was named,
// else that of the season; the water that of the record, else of the named place.
func ReleaseLines(s *logbook.Season, permits []logbook.Permit, places []logbook.ReleasePlace) []ReleaseLine {
	var out []ReleaseLine
	for i := range s.Events {
		e := &s.Events[i]
		if e.Kind != logbook.Released {
			continue
		}
		r := s.ReleaseRecordOf(e.ID)
		if r == nil {
			r = &logbook.ReleaseRecord{}
		}
		l := ReleaseLine{Event: e.ID, Season: s.ID, On: e.On, Permit: e.Permit, Water: r.WaterBody, Place: e.Place,
			Coordinates: r.Coordinates, Count: e.Count.V, MeanG: e.MeanG, MeanMM: r.MeanMM, Species: s.Lot.Species,
			Stock: cmp.Or(r.Stock, s.Lot.Stock), Lot: s.Lot.Code, Origin: cmp.Or(r.Supplier, s.Lot.Supplier),
			School: s.Site.Name, Tank: s.Tank.Name,
			Deviations: strings.TrimSpace(e.Deviations + " " + r.Deviations), Why: cmp.Or(e.DeviationWhy, r.DeviationWhy)}
		if l.Permit == "" {
			l.Permit = permitOf(s, permits)
		}
		if l.Coordinates == "" && r.Latitude.OK && r.Longitude.OK { // every decimal that was entered
			l.Coordinates = cell(r.Latitude.V) + ", " + cell(r.Longitude.V)
		}
		for j := range places {
			if x := &places[j]; logbook.SameName(x.Name, e.Place) {
				l.Water, l.Coordinates = cmp.Or(l.Water, x.Water), cmp.Or(l.Coordinates, x.Coordinates)
			}
		}
		out = append(out, l)
	}
	return out
}

// permitOf is the number of the permit that a season is under; "" for none.
func permitOf(s *logbook.Season, permits []logbook.Permit) string {
	if p := logbook.PermitOf(permits, s, ""); p != nil {
		return p.Number
	}
	return ""
}

// SortReleases puts lines in the order of days, schools and tanks.
func SortReleases(lines []ReleaseLine) {
	slices.SortFunc(lines, func(a, b ReleaseLine) int {
		return cmp.Or(a.On.Sub(b.On), strings.Compare(a.School, b.School), strings.Compare(a.Tank, b.Tank),
			strings.Compare(string(a.Event), string(b.Event)))
	})
}

// ReleaseTotal is the fish of one species by one thing, as a permit or a water.
type ReleaseTotal struct {
	Species    logbook.Species
	By, Name   string // By: one of TotalsBy
	Tanks      int
	Fish       int
	Deviations int // releases among them that depart from something
}

// TotalsBy are the ways in which releases are added up, each within one species.
func TotalsBy() []string { return []string{"species", "stock", "lot", "permit", "water"} }

// ReleaseTotals adds releases up, never across species.
func ReleaseTotals(lines []ReleaseLine) []ReleaseTotal {
	var out []ReleaseTotal
	for _, by := range TotalsBy() {
		sums, tanks := map[[2]string]*ReleaseTotal{}, map[[3]string]bool{}
		for i := range lines {
			l := &lines[i]
			name := map[string]string{"species": "", "stock": l.Stock, "lot": l.Lot, "permit": l.Permit,
				"water": l.Water}[by]
			key := [2]string{string(l.Species), name}
			t := sums[key]
			if t == nil {
				t = &ReleaseTotal{Species: l.Species, By: by, Name: name}
				sums[key] = t
			}
			t.Fish += l.Count
			if seen := [3]string{key[0], key[1], string(l.Season)}; !tanks[seen] {
				tanks[seen] = true
				t.Tanks++
			}
			if l.Deviations != "" {
				t.Deviations++
			}
		}
		var list []ReleaseTotal
		for _, t := range sums {
			list = append(list, *t)
		}
		slices.SortFunc(list, func(a, b ReleaseTotal) int {
			return cmp.Or(strings.Compare(string(a.Species), string(b.Species)), strings.Compare(a.Name, b.Name))
		})
		out = append(out, list...)
	}
	return out
}

// Receipt accounts for every fish of one species in the seasons under one permit, from
// delivery to release: what came is what is alive, died, left or is not explained.
type Receipt struct {
	Permit  string // number; empty for seasons under none
	Species logbook.Species
	Tanks   int
	logbook.Totals
}

// ReceiptsOf adds the seasons under each permit up, as of the day of each (by its id).
func ReceiptsOf(seasons []*logbook.Season, permits []logbook.Permit, today map[logbook.ID]civil.Date) []Receipt {
	sums := map[[2]string]*Receipt{}
	for _, s := range seasons {
		number := permitOf(s, permits)
		for i := range s.Events { // under none: the permit that its releases named last
			if e := &s.Events[i]; s.PermitID == "" && e.Kind == logbook.Released && e.Permit != "" {
				number = e.Permit
			}
		}
		key := [2]string{number, string(s.Lot.Species)}
		r := sums[key]
		if r == nil {
			r = &Receipt{Permit: number, Species: s.Lot.Species}
			sums[key] = r
		}
		t := s.TotalsOn(today[s.ID])
		r.Tanks++
		r.Delivered += t.Delivered
		r.MovedIn += t.MovedIn
		r.Alive += t.Alive
		r.Dead += t.Dead
		r.MovedOut += t.MovedOut
		r.Sampled += t.Sampled
		r.Released += t.Released
		r.Unexplained += t.Unexplained
	}
	var out []Receipt
	for _, r := range sums {
		out = append(out, *r)
	}
	slices.SortFunc(out, func(a, b Receipt) int {
		return cmp.Or(strings.Compare(a.Permit, b.Permit), strings.Compare(string(a.Species), string(b.Species)))
	})
	return out
}

package rules

import "reddside/internal/logbook"

// Sources of the temperature limits; reference rows in biology_limits.csv and
// water_limits.csv.
const (
	peterson  = "Peterson et al. 1977, abstract: over 20 % loss below 4 C"
	gunnes    = "Gunnes 1979, abstract: 10 C best, at 12 C high loss and half-weight fry"
	brannas   = "Brannas 1988: 10 C best of 6, 10 and 12 C, most deaths at 12 C"
	elliott10 = "Elliott and Elliott 2010: brown trout eggs to 13 C"
	ojanguren = "Ojanguren and Brana 2003, abstract: brown trout eggs best at 8 to 10 C"
	kwain     = "Kwain 1975, abstract: rainbow trout eggs best at 7 to 10 C, thresholds near 3 and 15 C"
	brookEggs = "brook trout strains: 60 to 73 % survive at 5.1 C, 40 to 57 % at 9.4 C"
	hokanson  = "Hokanson et al. 1973: brook trout eggs to 11.7 C"
	lakeEggs  = "lake trout eggs: 54 % survive in water to 8 C, 18 % in 8.3 to 10.6 C"
	tang      = "Tang et al. 1987, abstract: coho eggs tolerate 1.3 to 12.4 C"
	cohoBC    = "coho of British Columbia: eggs best at 4 to 5 C"
	murray    = "Murray and McPhail 1988, abstract: no pink or chum eggs hatch at 2 C"
	beacham   = "Beacham and Murray, abstracts: chum eggs tested at 4, 8 and 12 C, best at 8 C"
	dworshak  = "Dworshak hatchery note: chinook, egg to fry, 4 to 12 C"
	reiser    = "Reiser and Bjornn 1979, as quoted: incubation from 4.4 C"
	epa2003   = "US EPA Region 10 2003, EPA 910-B-03-002: to fry emergence 13 C"
	epaFry    = "US EPA Region 10 2003, EPA 910-B-03-002: core rearing 16 C, other rearing 18 C"
)

// band is the temperature limits of one species over some stages.
type band struct {
	species logbook.Species
	stages  []logbook.Stage

	watchLow, actLow, watchHigh, actHigh edge
}

type edge struct {
	v      float64
	source string
	known  Known
}

// freezing is where ice forms on a chiller and pumps stop; a local choice.
func freezing() edge { return edge{1, "", LocalChoice} }

func chosen(v float64) edge { return edge{v, "", LocalChoice} }

func stockTemperature() []Threshold {
	var rows []Threshold
	for _, b := range temperatureBands() {
		for _, stage := range b.stages {
			for _, e := range []struct {
				limit Limit
				edge
			}{{TempWatchLow, b.watchLow}, {TempActLow, b.actLow}, {TempWatchHigh, b.watchHigh},
				{TempActHigh, b.actHigh}} {
				rows = append(rows, Threshold{e.limit, b.species, stage, e.v, "Cel", e.source, e.known})
			}
		}
	}
	return rows
}

func temperatureBands() []band {
	early := []logbook.Stage{logbook.GreenEgg, logbook.EyedEgg, logbook.Alevin}
	late := []logbook.Stage{logbook.Fry, logbook.Parr, logbook.Smolt}
	epa := edge{13, epa2003, FromMemory}
	warmFry, hotFry := edge{16, epaFry, FromMemory}, edge{18, epaFry, FromMemory}
	return []band{
		// Any species: what a species has no row of its own for.
		{"", []logbook.Stage{""}, chosen(4), freezing(), chosen(10), epa},
		{"", late, chosen(3), freezing(), warmFry, hotFry},

		// The loss below 4 C is of eggs started there; once eyed they bear less.
		{logbook.AtlanticSalmon, []logbook.Stage{logbook.GreenEgg}, edge{4, peterson, Read}, freezing(),
			edge{10, gunnes, Read}, edge{12, gunnes, Read}},
		{logbook.AtlanticSalmon, []logbook.Stage{logbook.EyedEgg}, chosen(2), freezing(), edge{10, gunnes, Read},
			edge{12, gunnes, Read}},
		{logbook.AtlanticSalmon, []logbook.Stage{logbook.Alevin}, chosen(4), freezing(), edge{10, brannas, Read},
			edge{12, brannas, Read}},
		{logbook.AtlanticSalmon, late, chosen(3), freezing(), warmFry, hotFry},
		{logbook.BrownTrout, early, chosen(4), freezing(), edge{10, ojanguren, Read}, edge{13, elliott10, FromMemory}},
		{logbook.BrookTrout, early, chosen(2), freezing(), edge{9.4, brookEggs, Read},
			edge{11.7, hokanson, FromMemory}},
		{logbook.LakeTrout, early, chosen(2), freezing(), edge{8, lakeEggs, Read}, chosen(10)},
		{logbook.RainbowTrout, early, chosen(5), edge{3, kwain, Read}, edge{10, kwain, Read}, epa},
		{logbook.Chinook, early, edge{4, dworshak, Read}, freezing(), edge{12, dworshak, Read}, epa},
		{logbook.Coho, early, edge{4, cohoBC, Read}, edge{1.3, tang, Read}, chosen(10), edge{12.4, tang, Read}},
		{logbook.Chum, early, edge{4, beacham, Read}, edge{2, murray, Read}, edge{12, beacham, Read}, epa},
		{logbook.Pink, early, chosen(4), edge{2, murray, Read}, chosen(12), epa},
		{logbook.Sockeye, early, edge{4.4, reiser, Read}, freezing(), chosen(12), epa},
	}
}

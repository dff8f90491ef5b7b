package demo

import (
	"time"

	"reddside/internal/logbook"
	"reddside/internal/units"
)

// script is what is to happen in one tank in one season. Days count back from
// the end of the season, which is today for an open one.
type script struct {
	school int
	tank   logbook.Tank
	lot    string
	lead   bool // the lot's development is reckoned from this tank
	count  int
	set    []change // setpoints; the first from the delivery on
	drift  drift
	loss   float64 // times the usual death rates

	outbreak   map[int]int // more deaths, by days ago
	lateBy     map[int]int // days from a check to its entry, by days ago of the check
	correct    int         // days ago from which the next older check was mistyped; 0 for none
	noToday    bool        // no check today
	logger     bool        // half-hourly readings of the last two weeks
	changeDays int         // between water changes from hatch on
	missing    int         // fish not found at the count before the release
	done       []deed      // further events
	weighed    []weighing  // samples of fry
	// touch adds to a check what the script wants to be seen.
	touch func(d *day, c *logbook.Check)
}

type change struct {
	ago int
	to  float64 // Celsius
}

// deed is an event on a day, or on the Friday before when that is a weekend.
type deed struct {
	ago   int
	event logbook.Event
}

// weighing is a sample of fry, on a day or the last workday before.
type weighing struct {
	ago, fish int
	each, mm  float64 // mean weight in g and mean length in mm
}

// drift is a slow warming over the last days.
type drift struct {
	days   int
	perDay float64
}

func aquarium(name string, volume units.Litres, wall logbook.Wall, basket bool) logbook.Tank {
	return logbook.Tank{Name: name, Volume: volume, Wall: wall, HasChiller: true, HasFilter: true, HasAirPump: true,
		HasBasket: basket}
}

// Places of the schools in sites.
const (
	birchlight = iota
	copperfern
	sureau
	harrowmere
	northquill
	tidewhistle
)

func sites() []logbook.Site {
	site := func(name, zone, language string, unit units.TemperatureUnit, altitude units.Metres) logbook.Site {
		return logbook.Site{Name: name, Zone: zone, Language: language, TemperatureUnit: unit,
			Altitude: units.Some(altitude)}
	}
	return []logbook.Site{
		birchlight:  site("Birchlight School", "America/Halifax", "en", units.Cel, 40),
		copperfern:  site("Copperfern School", "America/Winnipeg", "en", units.DegF, 240),
		sureau:      site("École de la Lune-Bavarde", "America/Moncton", "fr", units.Cel, 30),
		harrowmere:  site("Harrowmere School", "America/Halifax", "en", units.Cel, 75),
		northquill:  site("Northquill School", "America/Winnipeg", "en", units.Cel, 310),
		tidewhistle: site("Tidewhistle School", "America/Halifax", "en", units.Cel, 5),
	}
}

func lotScripts() []lot {
	salmon := func(key, code string, ago, endAgo int, target, factor float64, diameter units.Millimetres) lot {
		return lot{key: key, ago: ago, endAgo: endAgo, hatchery: 6.0, target: target, factor: factor, lot: logbook.Lot{
			Code: code, Species: logbook.AtlanticSalmon, Supplier: "Hollowmoor Hatchery", Stock: "Ambleroot River",
			EggDiameter: units.Some(diameter)}}
	}
	trout := func(key, code string, ago, endAgo int, target, factor float64) lot {
		return lot{key: key, ago: ago, endAgo: endAgo, hatchery: 6.5, target: target, factor: factor, lot: logbook.Lot{
			Code: code, Species: logbook.BrookTrout, Supplier: "Mossgarth Hatchery", Stock: "Thimblewick Brook",
			EggDiameter: units.Some[units.Millimetres](4.3)}}
	}
	// A lot whose fry take longer than half of them do: the first food is due, and none
	// swims yet.
	late := func(l lot) lot {
		l.late = 0.1
		return l
	}
	return []lot{
		salmon("past salmon", "MOSS-2", 112, 296, 2.16, 1.02, 5.8),
		trout("past trout", "FERN-1", 122, 284, 2.20, 0.98),
		salmon("hatching", "MOSS-7", 29, 0, 1.0, 1.02, 5.7),
		late(salmon("early", "MOSS-5", 75, 0, 1.76, 1.01, 5.9)),
		salmon("risen", "MOSS-4", 84, 0, 2.05, 1.01, 5.9),
		salmon("middle", "MOSS-6", 32, 0, 0.85, 1.02, 5.6),
		trout("brook", "FERN-4", 24, 0, 0.78, 0.99),
		salmon("fresh", "MOSS-8", 3, 0, 0.56, 1.02, 5.7),
	}
}

func pastScripts() []script {
	return []script{
		{school: birchlight, tank: room12(), lot: "past salmon", lead: true, count: 180, set: []change{{0, 7.5}},
			loss: 1, changeDays: 8,
			done: []deed{{40, logbook.Event{Kind: logbook.SampleTaken, Count: units.Some(2),
				Note: "Two alevins for the lesson at the microscope."}}}},
		{school: harrowmere, tank: greenhouse(), lot: "past salmon", count: 150, set: []change{{0, 7.4}}, loss: 1.3,
			changeDays: 10, missing: 9},
		{school: northquill, tank: readingCorner(), lot: "past trout", lead: true, count: 160, set: []change{{0, 7.2}},
			loss: 0.9, changeDays: 8},
	}
}

func room12() logbook.Tank        { return aquarium("Room 12", 190, logbook.Insulated, true) }
func greenhouse() logbook.Tank    { return aquarium("Greenhouse", 150, logbook.BareGlass, false) }
func readingCorner() logbook.Tank { return aquarium("Reading corner", 120, logbook.Insulated, false) }

func openScripts() []script {
	room3 := aquarium("Room 3", 110, logbook.BareGlass, false)
	room3.HasFilter = false
	return []script{
		{school: birchlight, tank: room12(), lot: "hatching", lead: true, count: 200, set: []change{{0, 8.5}},
			loss:       0.8,
			changeDays: 9, touch: foamWithHatch},
		{school: birchlight, tank: aquarium("Library", 150, logbook.BareGlass, false), lot: "hatching", count: 150,
			set: []change{{0, 6}, {26, 5}}, loss: 0.8},
		{school: birchlight, tank: room3, lot: "brook", count: 90, set: []change{{0, 5.5}}, loss: 0.7, noToday: true},
		{school: copperfern, tank: aquarium("Science lab", 210, logbook.Insulated, true), lot: "early", lead: true,
			count: 220, set: []change{{0, 7}, {21, 7.6}, {12, 8.2}},
			loss: 0.8, changeDays: 8, done: []deed{{15, logbook.Event{Kind: logbook.FilterRinse}}}},
		{school: copperfern, tank: aquarium("Front hall", 130, logbook.BareGlass, false), lot: "early", count: 140,
			set: []change{{0, 5.4}}, loss: 0.9, changeDays: 13, touch: ammoniaRises},
		{school: sureau, tank: aquarium("Local 204", 170, logbook.Insulated, false), lot: "middle", lead: true,
			count: 160,
			set:   []change{{0, 5}}, loss: 0.8, drift: drift{11, 0.19}},
		{school: sureau, tank: aquarium("Atelier", 140, logbook.BareGlass, false), lot: "middle", count: 120,
			set: []change{{0, 5.2}}, loss: 0.8, logger: true},
		{school: harrowmere, tank: greenhouse(), lot: "middle", count: 150, set: []change{{0, 5.3}}, loss: 0.9,
			touch: pumpStops},
		{school: harrowmere, tank: aquarium("Room 21", 190, logbook.Insulated, true), lot: "risen", lead: true,
			count: 180,
			set:   []change{{0, 8.6}}, loss: 0.8, changeDays: 8, touch: fryFed,
			weighed: []weighing{{13, 25, 0.185, 28.0},
				{4, 25, 0.215, 29.4}}, correct: 8, lateBy: map[int]int{4: 2, 5: 2, 6: 2},
			done: []deed{{19, logbook.Event{Kind: logbook.PowerCut, Hours: units.Some(2.5),
				Note: "Storm. The tank stayed covered."}}}},
		{school: northquill, tank: aquarium("Wet lab", 160, logbook.BareGlass, false), lot: "brook", count: 180,
			set: []change{{0, 5.2}}, loss: 0.9, outbreak: map[int]int{6: 1, 5: 1, 4: 2, 3: 3, 2: 4, 1: 5, 0: 8},
			touch: whiteFuzz},
		{school: northquill, tank: readingCorner(), lot: "brook", lead: true, count: 130, set: []change{{0, 5}},
			loss: 0.6},
		{school: tidewhistle, tank: aquarium("Blue tank", 150, logbook.Insulated, true), lot: "fresh", lead: true,
			count: 200,
			set:   []change{{0, 6}}, loss: 0.7},
	}
}

// foamWithHatch is the foam that egg fluid makes in the days of hatching.
func foamWithHatch(d *day, c *logbook.Check) {
	if d.hatched > 0.05 && d.hatched < 0.999 {
		c.Water = logbook.WaterFoam
	}
}

// ammoniaRises is a tank with too little water changed: each weekly test is
// worse, the last is today.
func ammoniaRises(d *day, c *logbook.Check) {
	switch {
	case d.ago == 0:
		tests(c, 7.9, 3, 0.05, 10)
		c.Water = logbook.WaterCloudy
	case c.TAN.OK && d.ago < 9:
		tests(c, 7.7, 1, 0.03, 10)
	case c.TAN.OK && d.ago < 16:
		tests(c, 7.6, 0.5, 0.02, 5)
	}
}

// fryFed is a tank of feeding fry. On a Tuesday two to eight days ago the ammonia
// test was high, on Wednesday the food was held, on Thursday the test was good.
func fryFed(d *day, c *logbook.Check) {
	if c.Fed.OK { // about 4 % of the body weight a day
		c.Fed = units.Some(units.Grams(units.Round(1.2+0.03*float64(12-min(d.ago, 12)), 1)))
	}
	since := int(d.on.Weekday() - time.Tuesday) // days since the Tuesday of the week
	if tuesday := d.ago + since; tuesday < 2 || tuesday > 8 {
		return
	}
	switch since {
	case 0:
		tests(c, 7.9, 2, 0.03, 5)
		c.Note = "Ammonia is high. We changed a fifth of the water."
	case 1:
		c.PH, c.TAN, c.Nitrite, c.Nitrate = units.None[float64](), units.None[units.MgPerL](),
			units.None[units.MgPerL](), units.None[units.MgPerL]()
		c.Fed = units.Some(units.Grams(0))
	case 2:
		tests(c, 7.5, 0.1, 0.02, 5)
	}
}

func pumpStops(d *day, c *logbook.Check) {
	if d.ago == 0 {
		c.AirPump = logbook.Stopped
		c.Note = "No bubbles when we came in. The pump is silent."
	}
}

func whiteFuzz(d *day, c *logbook.Check) {
	if d.ago <= 3 {
		c.Fungus = logbook.Seen
	}
}

func tests(c *logbook.Check, ph float64, tan, nitrite, nitrate units.MgPerL) {
	c.PH, c.TAN, c.Nitrite, c.Nitrate = units.Some(ph), units.Some(tan), units.Some(nitrite), units.Some(nitrate)
}

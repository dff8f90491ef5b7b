package demo

import (
	"fmt"
	"time"

	"reddside/internal/biology"
	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/units"
)

// world is the invented programme before it is stored.
type world struct {
	founded time.Time
	lots    []*lot
	schools []*school
}

type school struct {
	site   logbook.Site
	loc    *time.Location
	now    time.Time
	today  civil.Date
	closed []logbook.ClosedSpan
	tanks  []*tank
}

type tank struct {
	tank    logbook.Tank
	seasons []*season // oldest first
}

// season is one season as it will be stored: season holds its rows as they
// stand at the end, corrections included, rows what is entered in what order.
type season struct {
	script      *script
	lot         *lot
	season      logbook.Season
	startedAt   time.Time
	rows        []store.LogRow
	corrections []correction
	readings    *store.Import
	release     *logbook.ReleaseRecord
}

type correction struct {
	check  logbook.Check
	reason string
	at     time.Time
}

func (sc *school) french() bool { return sc.site.Language == "fr" }

func (sc *school) keeper() logbook.Actor { return sc.actors()[logbook.Keeper] }

// actors are who enters things at a school, as the server labels them.
func (sc *school) actors() map[logbook.Role]logbook.Actor {
	keeper, class := "Keeper", "Class"
	if sc.french() {
		keeper, class = "Responsable", "Classe"
	}
	return map[logbook.Role]logbook.Actor{
		logbook.Keeper: {Role: logbook.Keeper, SiteID: sc.site.ID, Label: keeper + ", " + sc.site.Name},
		logbook.Class:  {Role: logbook.Class, SiteID: sc.site.ID, Label: class + ", " + sc.site.Name},
	}
}

// at is a moment of a day on the clock of the school, and never after now: what
// would still be to come on the day of now was entered just before.
func (sc *school) at(d civil.Date, minutes int) time.Time {
	y, m, day := d.YMD()
	t := time.Date(y, m, day, 0, minutes, 0, 0, sc.loc)
	if t.After(sc.now) {
		t = sc.now
	}
	return t
}

// invent makes the world as of now.
func invent(now time.Time) (*world, error) {
	now = now.Truncate(time.Second)
	w := &world{founded: now.AddDate(0, 0, -500)}
	for _, site := range sites() {
		sc := &school{site: site, loc: site.Location(), now: now}
		sc.today = civil.In(now, sc.loc)
		if err := logbook.Refuse(site.Validate()); err != nil {
			return nil, fmt.Errorf("%s: %w", site.Name, err)
		}
		sc.closed = []logbook.ClosedSpan{holiday(sc)}
		if _, away := awayNext[site.Name]; away {
			sc.closed = append(sc.closed, longWeekend(sc))
		}
		w.schools = append(w.schools, sc)
	}
	lots := map[string]*lot{}
	for _, l := range lotScripts() {
		lots[l.key] = &l
		w.lots = append(w.lots, &l)
	}
	tanks := map[string]*tank{}
	scripts := append(pastScripts(), openScripts()...)
	setpoint := map[string]float64{} // the one that the tank was given for this year's season
	for _, s := range scripts {
		setpoint[s.tank.Name] = s.set[0].to
	}
	for i := range scripts {
		s := &scripts[i]
		s.tank.Setpoint = units.Some(units.Celsius(setpoint[s.tank.Name]))
		s.onWorkdays(w.schools[s.school].today.AddDays(-lots[s.lot].endAgo))
	}
	waters := make([][]float64, len(scripts))
	for i := range scripts {
		sc, s := w.schools[scripts[i].school], &scripts[i]
		waters[i] = s.water(uint64(i))
		if s.lead {
			if err := lots[s.lot].settle(sc.today, s, waters[i]); err != nil {
				return nil, err
			}
		}
	}
	for i := range scripts {
		sc, s := w.schools[scripts[i].school], &scripts[i]
		t := tanks[s.tank.Name]
		if t == nil {
			t = &tank{tank: s.tank}
			if err := logbook.Refuse(t.tank.Validate()); err != nil {
				return nil, fmt.Errorf("%s: %w", s.tank.Name, err)
			}
			tanks[s.tank.Name] = t
			sc.tanks = append(sc.tanks, t)
		}
		made, err := live(sc, s, lots[s.lot], waters[i], uint64(i))
		if err != nil {
			return nil, fmt.Errorf("%s, %s: %w", sc.site.Name, s.tank.Name, err)
		}
		t.seasons = append(t.seasons, made)
	}
	for _, l := range w.lots {
		if err := logbook.Refuse(l.lot.Validate(civil.In(now, time.UTC))); err != nil {
			return nil, fmt.Errorf("%s: %w", l.lot.Code, err)
		}
	}
	return w, nil
}

// onWorkdays moves what is done to the last workday up to its day.
func (s *script) onWorkdays(end civil.Date) {
	for i := range s.set {
		s.set[i].ago = end.Sub(workday(end.AddDays(-s.set[i].ago)))
	}
	for i := range s.weighed {
		s.weighed[i].ago = end.Sub(workday(end.AddDays(-s.weighed[i].ago)))
	}
	for i := range s.done {
		s.done[i].ago = end.Sub(workday(end.AddDays(-s.done[i].ago)))
	}
}

// holiday is the nine days from the Saturday six to seven weeks ago.
func holiday(sc *school) logbook.ClosedSpan {
	from := sc.today.AddDays(-44)
	for from.Weekday() != time.Saturday {
		from = from.AddDays(-1)
	}
	reason := "School holiday"
	if sc.french() {
		reason = "Congé scolaire"
	}
	return logbook.ClosedSpan{From: from, To: from.AddDays(8), Reason: reason}
}

// workday returns d, or the Friday before it on a weekend.
func workday(d civil.Date) civil.Date {
	for d.Weekday() == time.Saturday || d.Weekday() == time.Sunday {
		d = d.AddDays(-1)
	}
	return d
}

// lot is eggs of one fertilisation and how they came.
type lot struct {
	key       string
	lot       logbook.Lot
	ago       int     // days from delivery to today, or to the release
	endAgo    int     // days from the end of the season to today; 0 for an open one
	hatchery  float64 // temperature of the hatchery's water, Celsius
	target    float64 // index of the leading tank at the end, with half hatched at 1
	factor    float64 // how much later than the model the lot is
	delivered civil.Date
	end       civil.Date
	start     float64 // development index at delivery
	units     units.ThermalUnits
	dev       biology.Development
	ratio     float64 // days to swim-up by days to hatch
	late      float64 // how much more than the model's
}

// settle chooses the day of fertilisation so that the leading tank is at the
// target at the end, and trims the lot's factor by what whole days leave over.
func (l *lot) settle(today civil.Date, s *script, water []float64) error {
	dev, ok := biology.Lookup(string(l.lot.Species))
	if !ok {
		return fmt.Errorf("no development model of %s", l.lot.Species)
	}
	l.dev = dev
	if l.ratio, ok = dev.SwimUp.RatioTo(dev.Hatch); !ok {
		return fmt.Errorf("swim-up of %s is no multiple of hatch", l.lot.Species)
	}
	l.ratio += l.late
	l.end = workdayUnlessToday(today.AddDays(-l.endAgo), today)
	l.delivered = workday(l.end.AddDays(-l.ago))
	grown := 0.0
	for ago := l.end.Sub(l.delivered); ago > 0; ago-- {
		r, _ := dev.Hatch.Rate(units.Celsius(water[ago]))
		grown += r
	}
	r, _ := dev.Hatch.Rate(units.Celsius(l.hatchery))
	days := int((l.factor*l.target-grown)/r + 0.5)
	l.start = float64(days) * r
	l.units = biology.ThermalUnitsAt(units.Celsius(l.hatchery), float64(days))
	l.factor = (l.start + grown) / l.target
	l.lot.FertilisedOn = l.delivered.AddDays(-days)
	return nil
}

func workdayUnlessToday(d, today civil.Date) civil.Date {
	if d == today {
		return d
	}
	return workday(d)
}

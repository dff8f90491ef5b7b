package web

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"regexp"
	"slices"
	"strings"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/units"
)

// readCheck reads a sent check form. Problems of fields that cannot be read are
// collected in f; temperatures without a unit are in that of the site.
func readCheck(f *form, season *logbook.Season) logbook.Check {
	c := logbook.Check{
		SeasonID: season.ID, On: readDay(f, "on"), Slot: logbook.Slot(f.text("slot")), Time: readTime(f, "time"),
		Chiller: logbook.Equipment(f.text("chiller")), Filter: logbook.Equipment(f.text("filter")), AirPump: logbook.Equipment(f.text("air_pump")),
		DeadEggs: f.count("dead_eggs"), DeadAlevins: f.count("dead_alevins"), DeadFry: f.count("dead_fry"),
		DeadCause: logbook.DeadCause(f.text("dead_cause")),
		Stage:     logbook.Stage(f.text("stage")), Hatched: logbook.Hatched(f.text("hatched")),
		Water: logbook.Water(f.text("water")), Fungus: logbook.Sighting(f.text("fungus")),
		PH: f.number("ph"), TAN: optional[units.MgPerL](f, "tan_mg_l"), Nitrite: optional[units.MgPerL](f, "nitrite_mg_l"),
		Nitrate: optional[units.MgPerL](f, "nitrate_mg_l"), Oxygen: optional[units.MgPerL](f, "oxygen_mg_l"),
		Chlorine: optional[units.MgPerL](f, "chlorine_mg_l"), Alkalinity: optional[units.MgPerL](f, "alkalinity_mg_l"),
		Fed: optional[units.Grams](f, "fed_g"), Note: readNote(f, "note"), Observer: f.text("observer"),
	}
	if c.Slot == "" {
		c.Slot = logbook.Morning
	}
	c.Temperature, c.TemperatureEntered, c.TemperatureUnit = f.temperature("temperature", season.Site.TemperatureUnit)
	return c
}

// notFitted states equipment that the tank does not have, where nothing else
// was said. It comes after validation: a check that only says so is empty.
func notFitted(c *logbook.Check, t logbook.Tank) {
	for _, e := range []struct {
		state *logbook.Equipment
		has   bool
	}{{&c.Chiller, t.HasChiller}, {&c.Filter, t.HasFilter}, {&c.AirPump, t.HasAirPump}} {
		if !e.has && *e.state == "" {
			*e.state = logbook.NotFitted
		}
	}
}

// readDay reads the day tiles of a form: a date, or "other" with a date field.
func readDay(f *form, field string) civil.Date {
	tile, other := f.text(field), f.text(field+"_other")
	if tile == "other" || tile == "" {
		tile = other
	} else if other != "" && other != tile {
		// The tile of today is chosen beforehand, so a date typed beside it is
		// never silently dropped.
		f.fail(field, "check_form.two_days", nil)
	}
	if tile == "" {
		return civil.Date{}
	}
	d, key := parseDate(tile)
	if key != "" {
		f.fail(field, key, nil)
	}
	return d
}

var clockTime = regexp.MustCompile(`^(\d{1,2})\s*(?:[:.]|[hH])\s*(\d{2})$`)

// readTime reads a time of day, as 8:10, 08.10 or 8 h 10.
func readTime(f *form, field string) string {
	s := f.text(field)
	if m := clockTime.FindStringSubmatch(s); m != nil {
		if len(m[1]) == 1 {
			m[1] = "0" + m[1]
		}
		return m[1] + ":" + m[2]
	}
	return s
}

// readNote keeps line breaks but in one form, so that the same note sent by two
// browsers is the same.
func readNote(f *form, field string) string {
	return strings.ReplaceAll(f.text(field), "\r\n", "\n")
}

// checkValidation is what a check is judged in.
type checkValidation struct {
	season  *logbook.Season
	today   civil.Date
	opened  civil.Date // day on which the form was opened; zero for corrections
	replace *logbook.Check
}

// validateCheck adds the problems of c to the form. Surprising values that the
// person confirmed, now or when the value was first stored, are noted in c.
func validateCheck(f *form, c *logbook.Check, in checkValidation) {
	unread := len(f.problems)
	problems := c.Validate(logbook.CheckContext{Season: without(in.season, c, in.replace), Today: in.today})
	if c.On == in.opened && !in.opened.IsZero() && in.opened.Before(in.today) {
		problems = append(problems, logbook.Problem{Field: "on", Key: "check_form.day_turned", Soft: true,
			Args: logbook.Args{"On": c.On, "Today": in.today}})
	}
	ok := confirmed(f, c, in.replace)
	var left []logbook.Problem
	for _, p := range problems {
		switch {
		case p.Soft && ok(p.Field):
			if !slices.Contains(c.Confirmed, p.Field) {
				c.Confirmed = append(c.Confirmed, p.Field)
			}
		case p.Key == "check.empty" && unread > 0:
			// Something was entered, it only could not be read.
		default:
			left = append(left, p)
		}
	}
	slices.Sort(c.Confirmed)
	f.add(left)
}

// without returns the season as it is without the check that c replaces or that
// holds its place: the same check sent twice must be judged the same twice.
func without(s *logbook.Season, c, replace *logbook.Check) *logbook.Season {
	out := *s
	out.Checks = slices.DeleteFunc(slices.Clone(s.Checks), func(x logbook.Check) bool {
		if replace != nil {
			return x.ID == replace.ID
		}
		return x.On == c.On && x.Slot == c.Slot
	})
	return &out
}

// confirmed tells whether a surprising value of a field is confirmed: by its box
// in the form, or before and unchanged since.
func confirmed(f *form, c, before *logbook.Check) func(field string) bool {
	return func(field string) bool {
		// "was_confirmed" holds field and value: a changed value is asked about again.
		if slices.Contains(f.values["confirm"], field) || slices.Contains(f.values["was_confirmed"], field+"="+f.text(field)) {
			return true
		}
		return before != nil && slices.Contains(before.Confirmed, field) && valueOf(c, field) == valueOf(before, field)
	}
}

// valueOf is the canonical value of a field that can be surprising.
func valueOf(c *logbook.Check, field string) any {
	switch field {
	case "on":
		return c.On
	case "temperature":
		return c.Temperature
	case "stage":
		return c.Stage
	case "ph":
		return c.PH
	case "dead_eggs", "dead_alevins", "dead_fry":
		n, _ := c.Dead()
		return n
	}
	return nil
}

// fingerprint is the SHA-256 of an entry's canonical values, in hex.
func fingerprint(v any) (string, error) {
	b, err := json.Marshal(v)
	if err != nil {
		return "", err
	}
	sum := sha256.Sum256(b)
	return hex.EncodeToString(sum[:]), nil
}

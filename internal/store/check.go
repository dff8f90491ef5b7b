package store

import (
	"context"
	"reflect"
	"strings"
	"time"

	"reddside/internal/logbook"
	"reddside/internal/units"
)

var checkTable = entryTable[logbook.Check]{
	name: "checks",
	cols: []string{"id", "on_date", "slot", "local_time", "temperature_c", "temperature_entered", "temperature_unit",
		"chiller", "filter", "air_pump", "dead_eggs", "dead_alevins", "dead_fry", "stage", "hatched", "water", "fungus",
		"ph", "tan_mg_l", "nitrite_mg_l", "nitrate_mg_l", "oxygen_mg_l", "fed_g", "note", "observer", "confirmed", "dead_cause",
		"chlorine_mg_l", "alkalinity_mg_l"},
	args: func(v *logbook.Check) []any {
		return []any{v.ID, v.On, v.Slot, v.Time, null(v.Temperature), v.TemperatureEntered, v.TemperatureUnit,
			v.Chiller, v.Filter, v.AirPump, null(v.DeadEggs), null(v.DeadAlevins), null(v.DeadFry), v.Stage, v.Hatched, v.Water, v.Fungus,
			null(v.PH), null(v.TAN), null(v.Nitrite), null(v.Nitrate), null(v.Oxygen), null(v.Fed), v.Note, v.Observer,
			strings.Join(v.Confirmed, " "), v.DeadCause, null(v.Chlorine), null(v.Alkalinity)}
	},
	read: readCheck,
	id:   func(v *logbook.Check) *logbook.ID { return &v.ID },
	in:   func(v *logbook.Check) *logbook.ID { return &v.SeasonID },
	meta: func(v *logbook.Check) *logbook.Entry { return &v.Entry },
	add:  func(s *logbook.Season, v logbook.Check) { s.Checks = append(s.Checks, v); sortChecks(s.Checks) },
	same: func(a, b *logbook.Check) bool { return sameCheck(*a, *b) },
	exists: func(have *logbook.Check) error {
		return &logbook.Error{Kind: logbook.Conflict, Key: "error.check.exists",
			Args: logbook.Args{"On": have.On, "ID": string(have.ID)}, Err: &Current[logbook.Check]{Row: *have}}
	},
}

func init() { checkTable.taken = checkAt }

func readCheck(r row) logbook.Check {
	v := logbook.Check{ID: logbook.ID(r.text(0)), On: r.date(1), Slot: logbook.Slot(r.text(2)), Time: r.text(3),
		Temperature: optReal[units.Celsius](r, 4), TemperatureEntered: r.text(5), TemperatureUnit: units.TemperatureUnit(r.text(6)),
		Chiller: logbook.Equipment(r.text(7)), Filter: logbook.Equipment(r.text(8)), AirPump: logbook.Equipment(r.text(9)),
		DeadEggs: r.optInt(10), DeadAlevins: r.optInt(11), DeadFry: r.optInt(12),
		Stage: logbook.Stage(r.text(13)), Hatched: logbook.Hatched(r.text(14)), Water: logbook.Water(r.text(15)), Fungus: logbook.Sighting(r.text(16)),
		PH: optReal[float64](r, 17), TAN: optReal[units.MgPerL](r, 18), Nitrite: optReal[units.MgPerL](r, 19),
		Nitrate: optReal[units.MgPerL](r, 20), Oxygen: optReal[units.MgPerL](r, 21), Fed: optReal[units.Grams](r, 22),
		Note: r.text(23), Observer: r.text(24), DeadCause: logbook.DeadCause(r.text(26)),
		Chlorine: optReal[units.MgPerL](r, 27), Alkalinity: optReal[units.MgPerL](r, 28), Entry: readEntry(r[29:])}
	if s := r.text(25); s != "" {
		v.Confirmed = strings.Split(s, " ")
	}
	return v
}

// sameCheck compares what two checks say, not who stored them when.
func sameCheck(a, b logbook.Check) bool {
	a.ID, b.ID = "", ""
	a.Entry, b.Entry = logbook.Entry{}, logbook.Entry{}
	a.Confirmed = strings.Fields(strings.Join(a.Confirmed, " "))
	b.Confirmed = strings.Fields(strings.Join(b.Confirmed, " "))
	return reflect.DeepEqual(a, b)
}

// checkAt finds the check that stands in the day and slot of v.
func checkAt(ctx context.Context, c *conn, num int64, v *logbook.Check) (have *logbook.Check, err error) {
	_, err = c.one(ctx, func(r row) error { got := readCheck(r); have = &got; return nil },
		"SELECT "+checkTable.list()+" FROM checks WHERE season_num = ? AND on_date = ? AND slot = ? AND voided = 0", num, v.On, v.Slot)
	return have, err
}

// SaveCheck stores a check in one transaction: the check, the season's new
// revision, the flags that w.After decides from the season as it then is, and
// the answer for the key. The same check again is answered with the stored
// one; a different check for the same day and slot is refused with
// error.check.exists, whose cause is *Current[logbook.Check].
func (d *DB) SaveCheck(ctx context.Context, actor logbook.Actor, v logbook.Check, now time.Time, w Write) (Saved[logbook.Check], error) {
	return checkTable.create(ctx, d, actor, v, now, w)
}

// CorrectCheck replaces what a check says; from is the revision the correction
// started from. The old form stays in the history. A stale revision is refused
// with error.stale, whose cause is *Current[logbook.Check].
func (d *DB) CorrectCheck(ctx context.Context, actor logbook.Actor, id logbook.ID, from int64, v logbook.Check, reason string,
	now time.Time, after After) (Saved[logbook.Check], error) {
	return checkTable.correct(ctx, d, actor, id, from, &v, reason, now, after)
}

// VoidCheck takes a check back; it stays readable.
func (d *DB) VoidCheck(ctx context.Context, actor logbook.Actor, id logbook.ID, from int64, reason string, now time.Time,
	after After) (Saved[logbook.Check], error) {
	return checkTable.correct(ctx, d, actor, id, from, nil, reason, now, after)
}

// Check returns one check, voided or not.
func (d *DB) Check(ctx context.Context, id logbook.ID) (logbook.Check, error) {
	return readOne(ctx, d, &checkTable, id)
}

func readOne[T any](ctx context.Context, d *DB, t *entryTable[T], id logbook.ID) (v T, err error) {
	err = d.read(ctx, "read "+t.name, func(c *conn) error {
		got, err := t.byID(ctx, c, id)
		if err == nil {
			v = *got
		}
		return err
	})
	return v, err
}

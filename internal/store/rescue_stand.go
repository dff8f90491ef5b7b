package store

import (
	"context"
	"fmt"
	"time"

	"reddside/internal/logbook"
)

// standIn makes schools, tanks, lots and seasons in the place of lost ones, so
// that what rests on them can be shown. It returns how many.
func standIn(ctx context.Context, c *conn, now time.Time) (int, error) {
	const who = "'coordinator', 'Rescue'"
	at, sum := now.Unix(), int64(0)
	var lost []int64
	if err := c.each(ctx, func(r row) error { lost = append(lost, r.int(0)); return nil }, `SELECT season_num FROM (
		SELECT season_num FROM delivery UNION SELECT season_num FROM checks UNION SELECT season_num FROM event UNION SELECT season_num FROM reading
		UNION SELECT season_num FROM sample UNION SELECT season_num FROM note) WHERE season_num NOT IN (SELECT num FROM season)`); err != nil {
		return 0, err
	}
	for _, num := range lost {
		if _, err := c.exec(ctx, `INSERT INTO season (num, id, label, tank_id, lot_id, by_role, by_label, changed_at)
			VALUES (?, ?, ?, ?, ?, `+who+`, ?)`, num, string(logbook.NewID()), fmt.Sprintf("Rescued season %d", num),
			string(logbook.NewID()), string(logbook.NewID()), at); err != nil {
			return 0, err
		}
		sum++
	}
	for _, q := range []string{
		`INSERT INTO tank (id, site_id, name, volume_l, wall, has_chiller, has_filter, has_airpump, has_basket, by_role, by_label, changed_at)
			SELECT DISTINCT tank_id, '00000000000000000000rescue', 'Rescued tank', 200, '', 0, 0, 0, 0, ` + who + `, ? FROM season
			WHERE tank_id NOT IN (SELECT id FROM tank)`,
		`INSERT INTO lot (id, code, species, supplier, stock, note, by_role, by_label, changed_at)
			SELECT DISTINCT lot_id, 'Rescued lot', 'atlantic_salmon', '', '', 'The lot could not be read: its species is not known.', ` + who + `, ?
			FROM season WHERE lot_id NOT IN (SELECT id FROM lot)`,
		`INSERT INTO site (id, name, zone, language, temperature_unit, by_role, by_label, changed_at)
			SELECT DISTINCT site_id, 'Rescued school', 'UTC', 'en', 'Cel', ` + who + `, ? FROM tank WHERE site_id NOT IN (SELECT id FROM site)`,
	} {
		n, err := c.exec(ctx, q, at)
		if err != nil {
			return 0, err
		}
		sum += n
	}
	return int(sum), nil
}

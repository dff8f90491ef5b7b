package demo

import (
	"context"
	"strconv"
	"time"

	"reddside/internal/logbook"
	"reddside/internal/store"
)

// longWeekend is the next Saturday to Monday, on which some schools are closed.
func longWeekend(sc *school) logbook.ClosedSpan {
	from := sc.today.AddDays(1)
	for from.Weekday() != time.Saturday {
		from = from.AddDays(1)
	}
	return logbook.ClosedSpan{From: from, To: from.AddDays(2), Reason: "Long weekend"}
}

// awayNext are the schools that are closed on the next long weekend: one with
// somebody named for it, one without.
var awayNext = map[string]string{"Birchlight School": "Caretaker", "Copperfern School": ""}

// duty stores who looks after the tanks of a school.
func (f *filler) duty(ctx context.Context, sc *school) error {
	group := "Group "
	if sc.french() {
		group = "Groupe "
	}
	w := logbook.DutyWeek{SiteID: sc.site.ID}
	for d := time.Monday; d <= time.Friday; d++ {
		w.Who[d] = group + strconv.Itoa(int(d))
	}
	at := sc.at(sc.today.AddDays(-20), 16*60)
	if err := logbook.Refuse(w.Validate()); err != nil {
		return err
	}
	if _, err := f.db.SaveDutyWeek(ctx, sc.keeper(), w, at); err != nil {
		return err
	}
	who := awayNext[sc.site.Name]
	if who == "" {
		return nil
	}
	span := longWeekend(sc)
	c := logbook.Cover{SiteID: sc.site.ID, From: span.From, To: span.To, Who: who,
		Note: "Looks in at 09:00. The key is in the office."}
	if err := logbook.Refuse(c.Validate()); err != nil {
		return err
	}
	_, err := f.db.CreateCover(ctx, sc.keeper(), c, at, store.IdempotencyKey{})
	return err
}

// remark is a note between keeper and coordinator, and its answer.
type remark struct {
	by           logbook.Role
	body, answer string
}

// remarks are by tank. One side waits for an answer in each of two.
func remarks() map[string]remark {
	return map[string]remark{
		"Room 3": {logbook.Coordinator,
			"Is your spare air pump still in the cupboard? Harrowmere may need one this week.", ""},
		"Greenhouse": {logbook.Keeper, "Our air pump has stopped. Can you bring a spare one today?", ""},
		"Wet lab": {logbook.Keeper, "More dead eggs with white fuzz. Shall I take them out twice a day?",
			"Yes, an adult each time, with clean tools. Log each count. I come by on Thursday."},
	}
}

// remark stores the notes of a tank's open season.
func (f *filler) remark(ctx context.Context, sc *school, s *season, id logbook.ID) error {
	r, ok := remarks()[s.script.tank.Name]
	if !ok || !s.season.ClosedOn.IsZero() {
		return nil
	}
	asks, answers := coordinator(), sc.keeper()
	if r.by == logbook.Keeper {
		asks, answers = answers, asks
	}
	note := logbook.Note{SeasonID: id, Body: r.body, Asks: true}
	if err := logbook.Refuse(note.Validate()); err != nil {
		return err
	}
	asked, err := f.db.CreateNote(ctx, asks, note, sc.at(sc.today.AddDays(-1), 15*60), store.IdempotencyKey{})
	if err != nil || r.answer == "" {
		return err
	}
	_, err = f.db.CreateNote(ctx, answers, logbook.Note{SeasonID: id, Body: r.answer, AnswersID: asked.Row.ID},
		sc.at(sc.today.AddDays(-1), 16*60+20), store.IdempotencyKey{})
	return err
}

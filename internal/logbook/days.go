package logbook

import "reddside/internal/civil"

// validDay checks the day of a check, event or sample, seen on day today: from
// the first delivery to the end of the season.
func (s *Season) validDay(on, today civil.Date) []Problem {
	p := Problem{Field: "on"}
	switch start := s.StartedOn(); {
	case on.IsZero():
		p.Key = "date.empty"
	case wrongYear("on", on) != nil:
		return wrongYear("on", on)
	case on.After(today):
		p.Key, p.Args = "date.future", Args{"On": on, "Today": today}
	case start.IsZero():
		p.Key = "check.no_delivery"
	case on.Before(start):
		p.Key, p.Args = "date.before_delivery", Args{"On": on, "Start": start}
	case s.afterClose(on):
		p.Key, p.Args = "date.after_close", Args{"On": on, "Closed": s.ClosedOn}
	default:
		return nil
	}
	return []Problem{p}
}

func (s *Season) afterClose(on civil.Date) bool { return !s.ClosedOn.IsZero() && on.After(s.ClosedOn) }

// Outside reports whether day on is one on which nothing could be logged. What
// was logged can come to lie outside later, when a delivery is taken back: that
// is odd and not wrong.
func (s *Season) Outside(on civil.Date) bool {
	start := s.StartedOn()
	return start.IsZero() || on.Before(start) || s.afterClose(on)
}

// ValidateDelivery returns what is wrong with the day of a delivery, new or
// changed, beside what else the season holds: the first eggs must not come to
// lie after a check, nor any after the end. Taking a delivery back is always
// allowed.
func (s *Season) ValidateDelivery(d Delivery) []Problem {
	if s.afterClose(d.On) {
		return []Problem{{Field: "on", Key: "date.after_close", Args: Args{"On": d.On, "Closed": s.ClosedOn}}}
	}
	before, start, known := s.StartedOn(), d.On, false
	for i := range s.Deliveries {
		if o := &s.Deliveries[i]; o.ID == d.ID {
			known = true
		} else if o.On.Before(start) {
			start = o.On
		}
	}
	if !known {
		return nil
	}
	for i := range s.Checks {
		// What lies outside already is not made worse.
		if on := s.Checks[i].On; !on.Before(before) && on.Before(start) {
			return []Problem{{Field: "on", Key: "delivery.after_check", Args: Args{"On": d.On, "Check": on}}}
		}
	}
	return nil
}

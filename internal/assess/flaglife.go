package assess

import (
	"reddside/internal/civil"
	"reddside/internal/rules"
	"reddside/internal/store"
)

// FlagLives is the stored life of the flags of a season.
type FlagLives struct {
	open  map[FlagPlace]*store.Flag
	Ended []*store.Flag // over, but somebody still has to say something about them
	Found Findings
}

func LivesOf(flags []store.Flag) FlagLives {
	l := FlagLives{open: make(map[FlagPlace]*store.Flag, len(flags))}
	for i := range flags {
		f := &flags[i]
		if f.Open() {
			l.open[FlagPlace{Rule: f.Rule, Subject: f.Subject}] = f
		} else if Waits(f) {
			l.Ended = append(l.Ended, f)
		}
	}
	return l
}

// Waits reports whether a flag that is over still waits for a person: an act flag
// until somebody says what it was. Watches end by themselves, and so does a missing
// check, which the late check explains. Of ends from before reasons were kept only
// the unseen ones wait.
func Waits(f *store.Flag) bool {
	switch {
	case f.Open() || f.Kind != string(rules.Act) || f.Rule == "check_missing" || f.EndWhy == string(rules.EndSeason):
		return false
	case f.EndWhy == "":
		return f.SeenAt.IsZero()
	}
	return !f.Named
}

// Of returns the life of a flag, nil before it is stored.
func (l FlagLives) Of(f *rules.Flag) *store.Flag {
	return l.open[FlagPlace{Rule: f.Rule, Subject: f.Subject}]
}

// Aside reports whether a flag is set aside on a day. One that became more
// urgent is not, even before that is stored.
func (l FlagLives) Aside(f *rules.Flag, on civil.Date) bool {
	k := l.Of(f)
	return k != nil && k.AsideOn(on) && f.Kind.Order() >= rules.Kind(k.SetAsideKind).Order()
}

// ToSee reports whether somebody still has to look at a flag.
func (l FlagLives) ToSee(f *rules.Flag) bool {
	if f.Kind != rules.Act && f.Kind != rules.Watch {
		return false
	}
	k := l.Of(f)
	return k == nil || k.ToSee() || (k.SeenKind != "" && f.Kind.Order() < rules.Kind(k.SeenKind).Order())
}

// Awaken gives an assessment the status of the flags that are not set aside, and
// tells how many are set aside and not seen.
//
// A tank whose only act flag is set aside does not ask for action: somebody has
// decided, said why, and for how long. It is never silent about it: the board
// and the tank's page say how many flags are set aside.
func (l FlagLives) Awaken(a *rules.Assessment) (aside, unseen int) {
	a.Status = a.StatusWithout(func(f *rules.Flag) bool { return l.Aside(f, a.On) })
	if len(l.Ended) > 0 && a.Status != rules.StatusAct {
		a.Status = rules.StatusWatch
	}
	for i := range a.Flags {
		f := &a.Flags[i]
		switch {
		case l.Aside(f, a.On):
			aside++
		case l.ToSee(f):
			unseen++
		}
	}
	return aside, unseen
}

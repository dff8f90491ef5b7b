package sim

// Score is what a rule did over many seasons.
type Score struct {
	Seasons  int
	Checks   int    // in all seasons
	Alarms   int    // checks at which the rule spoke
	Episodes int    // runs of alarms less than quiet checks apart
	Events   int    // seasons with a check after the first death by the event
	ByCheck  [4]int // of those, with an alarm by check 1..4 from then
	ByOnset  [4]int // the same, counted from the first check after the event began
}

// quiet is how many checks without an alarm end an episode.
const quiet = 3

// FalsePerSeason is the number of alarm episodes per season.
func (s Score) FalsePerSeason() float64 { return float64(s.Episodes) / float64(s.Seasons) }

// FoundBy is the share of events flagged by check k (1..4), counted from the
// first death by the event.
func (s Score) FoundBy(k int) float64 { return float64(s.ByCheck[k-1]) / float64(s.Events) }

// Add counts one season.
func (s *Score) Add(season Season, alarms []bool) {
	s.Seasons++
	s.Checks += len(season.Checks)
	last := -1 - quiet
	for i, on := range alarms {
		if !on {
			continue
		}
		s.Alarms++
		if i-last > quiet {
			s.Episodes++
		}
		last = i
	}
	if season.First < 0 {
		return
	}
	s.Events++
	countBy(&s.ByCheck, alarms, season.First)
	countBy(&s.ByOnset, alarms, season.Onset)
}

func countBy(by *[4]int, alarms []bool, from int) {
	found := false
	for k := range by {
		found = found || from+k < len(alarms) && alarms[from+k]
		if found {
			by[k]++
		}
	}
}

// Run draws n seasons with a fixed seed and scores each rule on the same ones.
func Run(p Programme, e Event, share float64, n int, seed uint64, rules []Alarm) []Score {
	g := NewGenerator(seed)
	scores := make([]Score, len(rules))
	for range n {
		season := g.Season(p, e, share)
		for i, rule := range rules {
			scores[i].Add(season, rule(season))
		}
	}
	return scores
}

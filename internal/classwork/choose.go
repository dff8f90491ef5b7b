package classwork

import (
	"hash/fnv"

	"reddside/internal/civil"
)

// Sheet is how many questions a worksheet holds.
const Sheet = 5

// epoch is where days are counted from, so that the kinds take turns.
var epoch = civil.Of(2000, 1, 1)

// turn is whose turn it is: it moves by one from day to day and differs from
// tank to tank.
func turn(f Facts) int {
	h := fnv.New32a()
	_, _ = h.Write([]byte(f.Tank))
	return f.Today.Sub(epoch) + int(h.Sum32()%uint32(len(Kinds())))
}

// pick is the first question of a level that the log allows, beginning with the
// kind whose turn it is; a kind in used is asked only when nothing else is left,
// and never twice at one level.
func pick(f Facts, level, from int, used map[Kind]int) (Question, bool) {
	kinds := Kinds()
	for _, again := range []bool{false, true} {
		for i := range kinds {
			k := kinds[(from+i)%len(kinds)]
			if seen, was := used[k]; was && (!again || seen&(1<<level) != 0) {
				continue
			}
			if q, ok := Ask(f, k, level); ok {
				return q, true
			}
		}
	}
	return Question{}, false
}

// Today are the questions of a day, one for each level from easy to hard. Where
// the log does not hold enough for a level, that one is left out.
func Today(f Facts) []Question {
	return choose(f, []int{1, 2, 3})
}

// Daily is the one question of a day where there is room for no more: the levels
// take turns. It is false when the log holds too little for any.
func Daily(f Facts) (Question, bool) {
	all := Today(f)
	if len(all) == 0 {
		return Question{}, false
	}
	return all[f.Today.Sub(epoch)%len(all)], true
}

// Worksheet are five questions from easy to hard, fewer when the log holds less.
func Worksheet(f Facts) []Question {
	return choose(f, []int{1, 1, 2, 2, 3})
}

func choose(f Facts, levels []int) []Question {
	var out []Question
	used := map[Kind]int{}
	for i, level := range levels {
		if q, ok := pick(f, level, turn(f)+2*i, used); ok {
			out = append(out, q)
			used[q.Kind] |= 1 << level
		}
	}
	return out
}

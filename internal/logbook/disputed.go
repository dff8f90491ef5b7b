package logbook

import "math"

// ReasonDisputed is why readings of an hour are suspect in which two files disagree.
const ReasonDisputed = "ingest.suspect.disputed"

// filesApart is how far the means of two files in one hour may lie apart: two loggers,
// each half a degree off. A local choice.
const filesApart = 1.0 // C

// MarkDisputed marks the readings, in order of time, of each hour in which two files
// disagree, and of each day of which two daily values do: nothing says which is
// right, so neither counts until one file is taken back.
func MarkDisputed(rs []Reading) {
	if len(rs) == 0 || oneFile(rs) {
		return
	}
	type place struct {
		hour  int64
		daily bool
	}
	at := func(r *Reading) place {
		if r.At.IsZero() {
			return place{r.On.UTC().Unix() / 3600, true}
		}
		return place{r.At.Unix() / 3600, false}
	}
	type mean struct {
		file int64
		sum  float64
		n    int
	}
	judge := func(rows []*Reading) {
		var means []mean
		for _, r := range rows {
			k := 0
			for k < len(means) && means[k].file != r.File {
				k++
			}
			if k == len(means) {
				means = append(means, mean{file: r.File})
			}
			means[k].sum += float64(r.Temperature)
			means[k].n++
		}
		low, high := math.Inf(1), math.Inf(-1)
		for _, m := range means {
			v := m.sum / float64(m.n)
			low, high = math.Min(low, v), math.Max(high, v)
		}
		if high-low <= filesApart {
			return
		}
		for _, r := range rows {
			r.Quality, r.Reason = Suspect, ReasonDisputed
		}
	}
	// Daily values stand at midnight among the instants of their hour.
	var open [2][]*Reading
	var here [2]place
	for i := range rs {
		r := &rs[i]
		if r.Quality != Good {
			continue
		}
		p, k := at(r), 0
		if p.daily {
			k = 1
		}
		if p != here[k] {
			judge(open[k])
			open[k], here[k] = open[k][:0], p
		}
		open[k] = append(open[k], r)
	}
	judge(open[0])
	judge(open[1])
}

func oneFile(rs []Reading) bool {
	for i := range rs {
		if rs[i].File != rs[0].File {
			return false
		}
	}
	return true
}

package logbook

import (
	"math"
	"time"
)

// ReasonDisputed is why readings of an hour are suspect in which two files disagree.
const ReasonDisputed = "ingest.suspect.disputed"

// filesApart is how far the means of two files in one hour may lie apart: two loggers,
// each half a degree off. A local choice.
const filesApart = 1.0 // C

// MarkDisputed marks the readings, in order of time, of each hour in which two files
// disagree, and of each day of which two daily values do: nothing says which is
// right, so neither counts until one file is taken back. Files that follow each
// other, as those of a sensor that sends now and then, are one run and no dispute.
func MarkDisputed(rs []Reading) {
	d := disputes{files: map[fileKind]*span{}}
	for i := range rs {
		r := &rs[i]
		k := fileKind{r.File, r.At.IsZero()}
		if s := d.files[k]; s == nil {
			d.files[k] = &span{momentOf(r), momentOf(r)}
		} else {
			s.last = momentOf(r)
		}
	}
	if len(d.files) < 2 {
		return
	}
	// Daily values stand at midnight among the instants of their hour.
	var open [2][]*Reading
	var hour [2]int64
	for i := range rs {
		r := &rs[i]
		if r.Quality != Good {
			continue
		}
		k := 0
		if r.At.IsZero() {
			k = 1
		}
		if h := momentOf(r).Unix() / 3600; h != hour[k] {
			d.judge(open[k])
			open[k], hour[k] = open[k][:0], h
		}
		open[k] = append(open[k], r)
	}
	d.judge(open[0])
	d.judge(open[1])
}

type fileKind struct {
	file  int64
	daily bool
}

type span struct{ first, last time.Time }

type disputes struct{ files map[fileKind]*span }

func momentOf(r *Reading) time.Time {
	if r.At.IsZero() {
		return r.On.UTC()
	}
	return r.At
}

// judge marks the readings of one hour whose files disagree.
func (d *disputes) judge(rows []*Reading) {
	type mean struct {
		fileKind
		sum float64
		n   int
		bad bool
	}
	var means []mean
	low, high := math.Inf(1), math.Inf(-1)
	at := func(r *Reading) int {
		k := 0
		for k < len(means) && means[k].file != r.File {
			k++
		}
		return k
	}
	for _, r := range rows {
		k := at(r)
		if k == len(means) {
			means = append(means, mean{fileKind: fileKind{r.File, r.At.IsZero()}})
		}
		means[k].sum += float64(r.Temperature)
		means[k].n++
		low, high = math.Min(low, float64(r.Temperature)), math.Max(high, float64(r.Temperature))
	}
	if len(means) < 2 || high-low <= filesApart {
		return
	}
	for a := range means {
		for b := range a {
			x, y := &means[a], &means[b]
			sx, sy := d.files[x.fileKind], d.files[y.fileKind]
			together := !sx.first.After(sy.last) && !sy.first.After(sx.last)
			if together && math.Abs(x.sum/float64(x.n)-y.sum/float64(y.n)) > filesApart {
				x.bad, y.bad = true, true
			}
		}
	}
	for _, r := range rows {
		if means[at(r)].bad {
			r.Quality, r.Reason = Suspect, ReasonDisputed
		}
	}
}

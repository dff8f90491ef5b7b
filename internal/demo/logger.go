package demo

import (
	"bytes"
	"fmt"
	"math"
	"math/rand/v2"
	"time"

	"reddside/internal/civil"
	"reddside/internal/ingest"
	"reddside/internal/logbook"
	"reddside/internal/store"
)

// The logger file: every half hour of the last two weeks, with a gap in which
// the logger lay dry on a desk and was stopped.
const (
	loggerDays = 14
	loggerStep = 30 * time.Minute
	gapFrom    = 6 * 24 * time.Hour // before the last reading
	gapTo      = gapFrom - 31*time.Hour
)

// logger writes the file of a logger and reads it back as any file is read.
func (d *diary) logger(all []day) error {
	end := d.sc.at(d.sc.today, 8*60).Truncate(loggerStep)
	file := loggerFile(all, end, d.sc.loc)
	got, err := ingest.Read(file, ingest.Answers{}, d.sc.loc)
	if err != nil {
		return fmt.Errorf("logger file: %w", err)
	}
	for _, r := range got.Readings {
		d.s.Readings = append(d.s.Readings, logbook.Reading{At: r.At, On: civil.In(r.At, d.sc.loc),
			Temperature: r.Celsius(),
			Quality:     logbook.Quality(r.Quality), Reason: r.Reason})
	}
	d.out.readings = &store.Import{FileSHA256: got.Digest, FileName: "atelier-sonde.csv",
		Dialect:    got.Dialect.Encoding + " " + got.Dialect.Separator,
		ReceivedAt: d.sc.now}
	return nil
}

// loggerFile follows the water of the days: each day swings by a fifth of a
// degree about its mean.
func loggerFile(all []day, end time.Time, loc *time.Location) []byte {
	rng := rand.New(rand.NewPCG(seed, 1<<40))
	mean := map[civil.Date]float64{}
	for i := range all {
		mean[all[i].on] = all[i].t
	}
	var b bytes.Buffer
	b.WriteString("\"Date Time, GMT-04:00\",\"Water temperature (°C)\"\n")
	zone := time.FixedZone("", -4*3600)
	for back := loggerDays * 24 * time.Hour; back >= 0; back -= loggerStep {
		at := end.Add(-back)
		noise := 0.04 * rng.NormFloat64()
		if back <= gapFrom && back > gapTo {
			continue
		}
		local := at.In(loc)
		hour := float64(local.Hour()) + float64(local.Minute())/60
		t := mean[civil.In(at, loc)] + 0.2*math.Cos((hour-16)/24*2*math.Pi) + noise
		fmt.Fprintf(&b, "%s,%.2f\n", at.In(zone).Format("2006-01-02 15:04:05"), t)
	}
	return b.Bytes()
}

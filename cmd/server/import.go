package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"time"

	"reddside/internal/civil"
	"reddside/internal/entries"
	"reddside/internal/i18n"
	"reddside/internal/ingest"
	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/web"
	"reddside/internal/web/imports"
)

// importJob is one run of import.
type importJob struct {
	season  logbook.ID
	file    string
	data    []byte
	answers ingest.Answers
	dryRun  bool
	yes     bool // unusual values are right
	now     time.Time
	out     io.Writer
	p       *i18n.Printer
	srv     *web.Server
	db      *store.DB
}

// importActor is who stores what comes in at a console.
var importActor = logbook.Actor{Role: logbook.Coordinator, Label: "server import"}

// importFile reads a logger file, or with -checks a logbook CSV file, into a
// season.
func importFile(ctx context.Context, args []string, out, errOut io.Writer) error {
	fs := newFlags("import", errOut)
	data := dataFlag(fs)
	season := fs.String("season", "", "id of the season, the last part of the tank page's address")
	answers := fs.String("answers", "", "answers to questions, like date_order=dmy,unit=Cel (a decimal comma: decimal=comma)")
	checks := fs.Bool("checks", false, "FILE is a logbook CSV of checks, stored all or not at all")
	dryRun := fs.Bool("dry-run", false, "say what would be stored and store nothing")
	yes := fs.Bool("yes", false, "the unusual values are right, or the file is that of this tank")
	void := fs.String("take-back", "", "id of a stored file of readings to take back, in place of FILE; needs -reason")
	reason := fs.String("reason", "", "why a file is taken back")
	if err := parse(fs, args, 1); err != nil {
		return err
	}
	if *season == "" || (fs.NArg() == 1) == (*void != "") {
		return usageError("import needs -season ID and one FILE, or -take-back ID")
	}
	job := importJob{season: logbook.ID(*season), file: fs.Arg(0), dryRun: *dryRun, yes: *yes, now: time.Now(),
		out: out}
	var err error
	if job.answers, err = parseAnswers(*answers); err != nil {
		return err
	}
	if *void == "" {
		if job.data, err = readLimited(job.file); err != nil {
			return err
		}
	}
	return withStore(ctx, *data, func(db *store.DB) error {
		job.db = db
		job.srv, err = web.New(web.Options{DB: db, Clock: time.Now, Log: slog.New(slog.DiscardHandler)})
		if err != nil {
			return err
		}
		if job.p, err = english(); err != nil {
			return err
		}
		s, err := db.LoadSeason(ctx, job.season)
		if err != nil {
			return err
		}
		if *void != "" {
			return job.takeBack(ctx, s, logbook.ID(*void), *reason)
		}
		if *checks {
			return job.checks(ctx, s)
		}
		return job.readings(ctx, s)
	})
}

// parseAnswers reads "name=value,name=value".
func parseAnswers(text string) (ingest.Answers, error) {
	given := map[string]string{}
	text = strings.ReplaceAll(text, "decimal=,", "decimal=comma")
	for _, pair := range strings.Split(text, ",") {
		if pair == "" {
			continue
		}
		name, value, ok := strings.Cut(pair, "=")
		known := false
		for _, n := range entries.ImportAnswerNames() {
			known = known || n == strings.TrimSpace(name)
		}
		if !ok || !known {
			return ingest.Answers{}, usageError(fmt.Sprintf("-answers %q: it must be name=value with one of the names %s",
				pair, strings.Join(entries.ImportAnswerNames(), ", ")))
		}
		given[strings.TrimSpace(name)] = strings.TrimSpace(value)
	}
	return entries.ImportAnswers(func(name string) string { return given[name] }), nil
}

// readLimited reads a file that is not larger than an upload may be.
func readLimited(path string) ([]byte, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, fmt.Errorf("read file: %w", err)
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, ingest.MaxBytes+1))
	if err != nil {
		return nil, fmt.Errorf("read file: %w", err)
	}
	return data, nil
}

// readings stores a logger file.
func (j *importJob) readings(ctx context.Context, s *logbook.Season) error {
	res, err := ingest.Read(j.data, j.answers, s.Site.Location())
	if err != nil {
		return j.explain(err)
	}
	if res.Series.Quantity != ingest.Temperature {
		return errors.New(j.p.T("import.not_temperature", map[string]any{"Name": res.Series.Label()}))
	}
	plan := entries.PlanReadings(s, res, civil.In(j.now, s.Site.Location()))
	j.say("column", res.Series.Label())
	j.say("readings in the file", res.All.Count)
	if res.All.Count > 0 {
		first, last := res.All.First.Format(time.RFC3339), res.All.Last.Format(time.RFC3339)
		if res.Dialect.Daily {
			first, last = res.All.FirstOn.String(), res.All.LastOn.String()
		}
		j.say("first", first)
		j.say("last", last)
		j.say("lowest (C)", fmt.Sprintf("%.6f", res.All.Min))
		j.say("highest (C)", fmt.Sprintf("%.6f", res.All.Max))
	}
	j.say("inside the season", len(plan.Keep))
	j.say("of them marked suspect", plan.Suspect)
	j.say("outside the season", plan.Outside)
	j.say("rows refused", len(res.Refused))
	for _, q := range res.Questions {
		fmt.Fprintf(j.out, "%s -answers %s=%s|%s\n", j.p.T(q.Key, q.Args), q.ID, q.Options[0].Value, q.Options[1].Value)
	}
	for _, x := range plan.Refused {
		fmt.Fprintf(j.out, "  line %d: %s\n", x.Line, j.p.T(x.Key, x.Args))
	}
	asked, err := j.srv.Entries.ReadingDoubts(ctx, s, plan)
	if err != nil {
		return err
	}
	for _, x := range asked {
		fmt.Fprintln(j.out, j.p.T(x.Key, x.Args))
	}
	if j.dryRun {
		fmt.Fprintln(j.out, "nothing was stored (-dry-run)")
		return nil
	}
	if len(asked) > 0 && !j.yes {
		return errors.New("nothing was stored; run again with -yes if this is the right file")
	}
	if len(plan.Keep) == 0 {
		return errors.New(j.p.T("import.nothing_to_store"))
	}
	im, err := j.srv.Entries.StoreReadings(ctx, importActor, s, filepath.Base(j.file), res, j.answers, plan, j.now,
		func(string) bool { return j.yes })
	if err != nil {
		return err
	}
	j.say("stored now", im.Added)
	j.say("there already", im.Known)
	j.say("there with another temperature in another file", im.Other)
	if im.ID != "" {
		j.say("id of the file, to take it back", im.ID)
	}
	return nil
}

// takeBack takes a stored file of readings back.
func (j *importJob) takeBack(ctx context.Context, s *logbook.Season, id logbook.ID, reason string) error {
	_, err := j.srv.Entries.VoidImport(ctx, importActor, s, id, reason, j.now)
	var e *logbook.Error
	if errors.As(err, &e) {
		if len(e.Problems) > 0 {
			return errors.New("-reason: " + j.p.T(e.Problems[0].Key, e.Problems[0].Args))
		}
		return errors.New(j.p.T(e.Key, e.Args))
	}
	if err == nil {
		j.say("taken back", id)
	}
	return err
}

func (j *importJob) say(what string, value any) { fmt.Fprintf(j.out, "%s: %v\n", what, value) }

// checks stores a logbook file, all or nothing.
func (j *importJob) checks(ctx context.Context, s *logbook.Season) error {
	rows, wrong, err := ingest.ReadChecks(j.data)
	if err != nil {
		return j.explain(err)
	}
	for _, x := range wrong {
		fmt.Fprintf(j.out, "  line %d, column %d: %s\n", x.Line, x.Column, j.p.T(x.Key, x.Args))
	}
	plan := imports.PlanChecks(s, rows, civil.In(j.now, s.Site.Location()), importActor, j.now)
	for _, list := range [][]imports.CheckProblem{plan.Wrong, plan.Surprise} {
		for _, x := range list {
			fmt.Fprintf(j.out, "  line %d, %s: %s\n", x.Line, x.Field, j.p.T(x.Key, x.Args))
		}
	}
	if n := len(wrong) + len(plan.Wrong); n > 0 {
		return fmt.Errorf("nothing was stored: %d things to mend in the file", n)
	}
	j.say("new checks", len(plan.Rows))
	j.say("there already", plan.Known)
	if j.dryRun {
		fmt.Fprintln(j.out, "nothing was stored (-dry-run)")
		return nil
	}
	if len(plan.Surprise) > 0 && !j.yes {
		return fmt.Errorf("nothing was stored: %d unusual values; run again with -yes if they are right",
			len(plan.Surprise))
	}
	after, err := j.srv.Assess.FlagsAfter(ctx, s, j.now)
	if err != nil {
		return err
	}
	n, _, err := j.db.SaveLog(ctx, importActor, s.ID, plan.Rows, j.now, after)
	if err != nil {
		return err
	}
	j.say("stored now", n)
	return nil
}

// explain writes why a file cannot be read, or the questions it leaves open.
func (j *importJob) explain(err error) error {
	var fe *ingest.FileError
	if errors.As(err, &fe) {
		return errors.New(j.p.T(fe.Problem.Key, fe.Problem.Args))
	}
	var qe *ingest.QuestionsError
	if !errors.As(err, &qe) {
		return err
	}
	var b strings.Builder
	b.WriteString("the file leaves something open; answer with -answers:")
	for _, q := range qe.Questions {
		fmt.Fprintf(&b, "\n%s", j.p.T(q.Key, q.Args))
		for _, o := range q.Options {
			fmt.Fprintf(&b, "\n  %s=%s  %s", q.ID, o.Value, j.p.T(o.Key, o.Args))
		}
	}
	return errors.New(b.String())
}

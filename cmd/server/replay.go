package main

import (
	"context"
	"fmt"
	"io"
	"strings"
	"text/tabwriter"
	"time"

	"reddside/internal/assess"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/store"
)

// limitFlags collects -set flags.
type limitFlags struct{ texts []string }

func (l *limitFlags) String() string { return strings.Join(l.texts, " ") }

func (l *limitFlags) Set(text string) error {
	if _, err := assess.ParseLimit(text); err != nil {
		return err
	}
	l.texts = append(l.texts, text)
	return nil
}

// replay runs the rules over past seasons again and prints what would have been
// raised; with -set beside what changed limits would raise.
func replay(ctx context.Context, args []string, out, errOut io.Writer) error {
	fs := newFlags("replay", errOut)
	data := dataFlag(fs)
	season := fs.String("season", "", "id of one season; all when empty")
	closed := fs.Bool("closed", false, "only seasons that have ended")
	var set limitFlags
	fs.Var(&set, "set", "changed limit, like dead_min=4 or temperature_watch_high/fry=11; may be given again")
	if err := parse(fs, args, 0); err != nil {
		return err
	}
	ask := assess.ReplayAsk{Season: logbook.ID(*season), Closed: *closed}
	for _, t := range set.texts {
		o, err := assess.ParseLimit(t)
		if err != nil {
			return usageError(err.Error())
		}
		ask.Set = append(ask.Set, o)
	}
	return withStore(ctx, *data, func(db *store.DB) error {
		a, err := assess.Replay(ctx, db, ask, time.Now(), 0)
		if err != nil {
			return err
		}
		p, err := english()
		if err != nil {
			return err
		}
		return printReplay(out, p, a, *season != "")
	})
}

// printReplay writes the tables: counts by rule, and the flags themselves of one
// season or those that a changed limit makes different.
func printReplay(out io.Writer, p *i18n.Printer, a assess.ReplayAnswer, episodes bool) error {
	w := tabwriter.NewWriter(out, 2, 0, 2, ' ', 0)
	fmt.Fprintf(w, "%d seasons, %d days with fish\n", a.InUse.Seasons, a.InUse.Days)
	for _, r := range a.Tables(p) {
		fmt.Fprintf(w, "\n%s\nrule\tact\twatch\tdue\tnote\tseasons\tdays\n", r.Title)
		for _, c := range r.Rows {
			fmt.Fprintf(w, "%s\t%d\t%d\t%d\t%d\t%d\t%d\n", c.Rule, c.Act, c.Watch, c.Due, c.Note, c.Seasons, c.Days)
		}
		fmt.Fprintf(w, "a season: %.2f act, %.2f watch\n", r.ActsPerSeason, r.WatchesPerSeason)
		if r.Judged {
			fmt.Fprintln(w, r.Verdict)
		}
	}
	lists := a.Different(p)
	if episodes && a.Changed == nil {
		lists = a.All(p)
	}
	for _, l := range lists {
		fmt.Fprintf(w, "\n%s\nraised\tcleared\tkind\trule\ttank\n", l.Title)
		for _, e := range l.Rows {
			fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%s\n", e.Raised, e.Cleared, e.Kind, e.Rule, e.Tank)
		}
	}
	return w.Flush()
}

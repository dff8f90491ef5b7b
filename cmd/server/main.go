// Command server is Reddside: it serves the logbook and has the subcommands
// that look after its data.
package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"os/signal"
	"syscall"
	_ "time/tzdata" // schools' machines may have no zone data of their own
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	err := run(ctx, os.Args[1:], os.Stdout, os.Stderr)
	var usage usageError
	switch {
	case err == nil || errors.Is(err, flag.ErrHelp):
	case errors.As(err, &usage):
		fmt.Fprintln(os.Stderr, "reddside:", err)
		os.Exit(2)
	default:
		fmt.Fprintln(os.Stderr, "reddside:", err)
		os.Exit(1)
	}
}

// usageError is a mistake on the command line.
type usageError string

func (e usageError) Error() string { return string(e) }

// command is one subcommand.
type command struct {
	name, short string
	run         func(ctx context.Context, args []string, out, errOut io.Writer) error
}

func commands() []command {
	return []command{
		{"serve", "serve the logbook (the default)", serve},
		{"token", "make or revoke a token for the JSON interface", token},
		{"backup", "write a checked copy of the logbook", backup},
		{"restore", "put a backup in the place of the logbook", restore},
		{"verify", "check the logbook's integrity and its totals", verify},
		{"import", "read a logger file into a season", importFile},
		{"replay", "run the rules over past seasons again", replay},
		{"export", "write the logbook as a zip of CSV files", export},
		{"service", "start with the computer: install, remove or status", serviceCommand},
		{"version", "say which version this is", version},
	}
}

// run picks the subcommand; without one it serves.
func run(ctx context.Context, args []string, out, errOut io.Writer) error {
	if len(args) > 0 && len(args[0]) > 0 && args[0][0] != '-' {
		for _, c := range commands() {
			if c.name == args[0] {
				return c.run(ctx, args[1:], out, errOut)
			}
		}
		return usageError(fmt.Sprintf("there is no subcommand %q; run with -h for the list", args[0]))
	}
	return serve(ctx, args, out, errOut)
}

// newFlags returns a flag set that explains the whole program on -h.
func newFlags(name string, errOut io.Writer) *flag.FlagSet {
	fs := flag.NewFlagSet("server "+name, flag.ContinueOnError)
	fs.SetOutput(errOut)
	fs.Usage = func() {
		fmt.Fprintf(errOut, "Usage: server %s [flags]\n\nSubcommands:\n", name)
		for _, c := range commands() {
			fmt.Fprintf(errOut, "  %-8s %s\n", c.name, c.short)
		}
		fmt.Fprintf(errOut, "\nFlags of %s:\n", name)
		fs.PrintDefaults()
	}
	return fs
}

// parse reads flags and refuses left-over words.
func parse(fs *flag.FlagSet, args []string, words int) error {
	if err := fs.Parse(args); err != nil {
		if errors.Is(err, flag.ErrHelp) {
			return err
		}
		return usageError(err.Error())
	}
	if fs.NArg() > words {
		return usageError(fmt.Sprintf("unexpected %q", fs.Arg(words)))
	}
	return nil
}

// dataFlag adds the flag for the data folder; REDDSIDE_DATA sets its default.
func dataFlag(fs *flag.FlagSet) *string {
	return fs.String("data", defaultData(), "folder of the logbook")
}

package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"time"

	"reddside/internal/api"
	"reddside/internal/logbook"
	"reddside/internal/store"
)

// export writes the whole logbook as a zip of CSV files.
func export(ctx context.Context, args []string, out, errOut io.Writer) error {
	fs := newFlags("export", errOut)
	file := fs.String("o", "", "file to write; it must not exist")
	damaged := fs.Bool("rescue", false, "read what can be read of a damaged logbook, and say what could not be")
	data := dataFlag(fs)
	if err := parse(fs, args, 0); err != nil {
		return err
	}
	if *file == "" {
		return usageError("-o FILE is needed")
	}
	if *damaged {
		return rescue(ctx, *data, *file, out)
	}
	return withStore(ctx, *data, func(db *store.DB) error {
		f, err := os.OpenFile(*file, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
		if err != nil {
			return fmt.Errorf("write the export: %w", err)
		}
		actor := logbook.Actor{Role: logbook.Coordinator, Label: "Command line"}
		if err := errors.Join(api.Export(ctx, db, actor, time.Now(), f), f.Sync(), f.Close()); err != nil {
			_ = os.Remove(*file)
			return err
		}
		fmt.Fprintf(out, "wrote %s\n", *file)
		return nil
	})
}

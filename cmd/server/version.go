package main

import (
	"context"
	"fmt"
	"io"
	"runtime"
	"runtime/debug"
)

// release is the name of a release, set by the linker; "" otherwise.
var release string

// version says which version of the program this is.
func version(_ context.Context, args []string, out, errOut io.Writer) error {
	if err := parse(newFlags("version", errOut), args, 0); err != nil {
		return err
	}
	_, err := fmt.Fprintf(out, "reddside %s %s/%s %s\n", versionHere(), runtime.GOOS, runtime.GOARCH,
		runtime.Version())
	return err
}

// versionHere names the build that runs.
func versionHere() string {
	info, _ := debug.ReadBuildInfo()
	return versionOf(release, info)
}

// versionOf names a build: by its release, else by its commit with the time of
// that in UTC, with "changed" when the files were not those of the commit. A
// build that knows neither is "unknown".
func versionOf(release string, info *debug.BuildInfo) string {
	if release != "" {
		return release
	}
	set := map[string]string{}
	if info != nil {
		for _, s := range info.Settings {
			set[s.Key] = s.Value
		}
	}
	commit := set["vcs.revision"]
	if commit == "" {
		return "unknown"
	}
	name := commit[:min(12, len(commit))] + " of " + set["vcs.time"]
	if set["vcs.modified"] == "true" {
		name += ", changed"
	}
	return name
}

//go:build unix

package store

import (
	"fmt"
	"os"
	"testing"
)

// The kill and disk tests run this test program again as a child.
const childEnv = "REDDSIDE_STORE_CHILD"

func TestMain(m *testing.M) {
	switch os.Getenv(childEnv) {
	case "":
		os.Exit(m.Run())
	case "kill":
		if err := writeUntilKilled(os.Getenv("REDDSIDE_STORE_DIR")); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
	case "full":
		if err := writeUntilFull(os.Getenv("REDDSIDE_STORE_DIR")); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
	}
}

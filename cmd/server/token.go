package main

import (
	"context"
	"crypto/rand"
	"fmt"
	"io"
	"strings"
	"text/tabwriter"
	"time"

	"reddside/internal/logbook"
	"reddside/internal/store"
)

// tokenDays is how long a token lasts unless told otherwise; a local choice:
// a school year.
const tokenDays = 365

// token makes, lists or revokes a token for the JSON interface. The secret is
// shown once and stored as a hash only.
func token(ctx context.Context, args []string, out, errOut io.Writer) error {
	fs := newFlags("token", errOut)
	role := fs.String("role", "", "coordinator, keeper or class")
	site := fs.String("site", "", "id of the site; needed for keeper and class")
	label := fs.String("label", "", "what it is for, as the history shows it")
	days := fs.Int("days", tokenDays, "days until it ends")
	revoke := fs.String("revoke", "", "id of a token to end")
	list := fs.Bool("list", false, "list the tokens")
	data := dataFlag(fs)
	if err := parse(fs, args, 0); err != nil {
		return err
	}
	t, err := readToken(*role, *site, *label, *days, *revoke != "" || *list)
	if err != nil {
		return err
	}
	now := time.Now()
	return withStore(ctx, *data, func(db *store.DB) error {
		switch {
		case *list:
			return listTokens(ctx, db, now, out)
		case *revoke != "":
			if err := db.RevokeToken(ctx, logbook.ID(*revoke), now); err != nil {
				return err
			}
			fmt.Fprintf(out, "token %s has ended\n", *revoke)
			return nil
		}
		t.ExpiresAt = now.AddDate(0, 0, *days)
		return makeToken(ctx, db, t, now, out, errOut)
	})
}

// makeToken stores a new token. Its secret alone goes to standard output, so
// that a script can keep it.
func makeToken(ctx context.Context, db *store.DB, t store.Token, now time.Time, out, errOut io.Writer) error {
	secret := strings.ToLower(rand.Text()) // 130 bits
	made, err := db.CreateToken(ctx, t, store.HashToken(secret), now)
	if err != nil {
		return err
	}
	fmt.Fprintln(out, secret)
	fmt.Fprintf(errOut, "Token %s for a %s, until %s. It is shown only now. Send it as: Authorization: Bearer TOKEN\n",
		made.ID, made.Role, made.ExpiresAt.Format("2006-01-02"))
	return nil
}

// readToken reads what a new token is to be; other is set when the command
// does something else.
func readToken(role, site, label string, days int, other bool) (store.Token, error) {
	t := store.Token{Role: logbook.Role(role), SiteID: logbook.ID(site), Label: strings.TrimSpace(label)}
	switch {
	case other && role != "":
		return t, usageError("-role makes a token; leave it out with -list and -revoke")
	case other:
		return t, nil
	case !t.Role.Valid():
		return t, usageError("-role must be coordinator, keeper or class")
	case t.Role == logbook.Coordinator && site != "":
		return t, usageError("a coordinator acts at every site; leave -site out")
	case t.Role != logbook.Coordinator && site == "":
		return t, usageError("-site is needed for a " + role)
	case days < 1 || days > 3660:
		return t, usageError("-days must be between 1 and 3660")
	}
	if t.Label == "" {
		t.Label = "Token, " + role
	}
	return t, nil
}

func listTokens(ctx context.Context, db *store.DB, now time.Time, out io.Writer) error {
	tokens, err := db.Tokens(ctx)
	if err != nil {
		return err
	}
	w := tabwriter.NewWriter(out, 0, 4, 2, ' ', 0)
	fmt.Fprintln(w, "ID\tROLE\tSITE\tUNTIL\tSTATE\tLABEL")
	for _, t := range tokens {
		state := "in use"
		if !t.RevokedAt.IsZero() {
			state = "revoked"
		} else if !t.ExpiresAt.After(now) {
			state = "ended"
		}
		fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%s\t%s\n", t.ID, t.Role, t.SiteID, t.ExpiresAt.Format("2006-01-02"), state,
			t.Label)
	}
	return w.Flush()
}

package rules

import (
	"fmt"
	"math"
	"strings"
	"time"

	"reddside/internal/civil"
	"reddside/internal/logbook"
)

func upkeepRules() []Rule {
	return []Rule{backupOld(), clockJumped(), backupUnsure(), copyBehind(), copyUnproven()}
}

func backupOld() Rule {
	return newRule("backup_old", Upkeep, logbook.Coordinator, today, 7,
		[]string{"backup_now", "free_space", "backup_elsewhere"}, BackupHours)
}

func clockJumped() Rule {
	return newRule("clock_jumped", Upkeep, logbook.Coordinator, today, 7, []string{"set_clock", "move_backups"})
}

func backupUnsure() Rule {
	return newRule("backup_unsure", Upkeep, logbook.Coordinator, today, 7, []string{"move_backups", "free_space"})
}

// copyBehind speaks of the copy that is kept elsewhere all the time.
func copyBehind() Rule {
	return newRule("copy_behind", Upkeep, logbook.Coordinator, today, 7, []string{"reach_copy", "backup_elsewhere"})
}

// copyUnproven says that the copy elsewhere did not stand the drill of restoring it.
func copyUnproven() Rule {
	return newRule("copy_unproven", Upkeep, logbook.Coordinator, today, 7, []string{"backup_elsewhere", "other_copy"})
}

// ElsewhereCopy is the copy of the logbook that is kept elsewhere all the time.
type ElsewhereCopy struct {
	Place  string
	Behind time.Duration // for how long it has not held everything
	Late   bool          // behind for too long
	Failed bool          // the last drill found that it is not what it should be
}

// ProgrammeInput is what the rules about the whole logbook look at.
type ProgrammeInput struct {
	Now        time.Time
	LastBackup time.Time // of the newest backup that was checked; zero when there is none
	Begun      time.Time // when the logbook was made: a new one has no backup yet
	// AheadBackups are dated later than Now, the latest at AheadTo, and
	// UnsureBackups are not what was checked. Neither counts for LastBackup.
	AheadBackups, UnsureBackups []string
	AheadTo                     time.Time
	Elsewhere                   *ElsewhereCopy // nil when none is kept
	Profile                     *Profile
}

// AssessProgramme says what the whole logbook needs. Its flags belong to no
// tank: they hold as long as the condition does and are not seen or set aside.
func AssessProgramme(in ProgrammeInput) []Flag {
	if in.Profile == nil {
		in.Profile = StockProfile()
	}
	var out []Flag
	raise := func(r Rule, kind Kind, h Message) {
		r = r.sourced(in.Profile.rows)
		out = append(out, Flag{Rule: r.ID, Kind: kind, Subject: "backup", Headline: h, Why: r.Why, Do: r.Do,
			Class: r.Class, Who: r.Who, Within: r.Within, Source: r.Source, LocalChoice: r.LocalChoice,
			ShelveDays: r.ShelveDays})
	}
	if r := clockJumped(); len(in.AheadBackups) > 0 {
		raise(r, Act, headline(r.ID, "", logbook.Args{"On": civil.In(in.AheadTo, time.UTC),
			"Files": named(in.AheadBackups)}))
	}
	if r := backupUnsure(); len(in.UnsureBackups) > 0 {
		raise(r, Watch, headline(r.ID, "", logbook.Args{"Files": named(in.UnsureBackups)}))
	}
	if c := in.Elsewhere; c != nil {
		if r := copyBehind(); c.Late {
			raise(r, Act, headline(r.ID, "", logbook.Args{"Count": int(c.Behind.Hours()), "Place": c.Place}))
		}
		if r := copyUnproven(); c.Failed {
			raise(r, Act, headline(r.ID, "", logbook.Args{"Place": c.Place}))
		}
	}
	from := in.LastBackup
	if from.IsZero() {
		from = in.Begun
	}
	hours := in.Now.Sub(from).Hours()
	if from.IsZero() || !(hours > in.Profile.any(BackupHours)) {
		return out
	}
	r := backupOld()
	h := headline(r.ID, "", logbook.Args{"Count": int(math.Floor(hours / 24))})
	if in.LastBackup.IsZero() {
		h = headline(r.ID, "none", nil)
	}
	raise(r, Act, h)
	return out
}

// named lists the first three names and says how many more there are.
func named(files []string) string {
	if n := len(files) - 3; n > 0 {
		return strings.Join(files[:3], ", ") + fmt.Sprintf(", … (+%d)", n)
	}
	return strings.Join(files, ", ")
}

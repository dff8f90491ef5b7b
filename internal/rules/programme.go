package rules

import (
	"math"
	"time"

	"reddside/internal/logbook"
)

func upkeepRules() []Rule { return []Rule{backupOld()} }

func backupOld() Rule {
	return newRule("backup_old", Upkeep, logbook.Coordinator, today, 7,
		[]string{"backup_now", "free_space", "backup_elsewhere"}, BackupHours)
}

// ProgrammeInput is what the rules about the whole logbook look at.
type ProgrammeInput struct {
	Now        time.Time
	LastBackup time.Time // of the newest backup that was checked; zero when there is none
	Begun      time.Time // when the logbook was made: a new one has no backup yet
	Profile    *Profile
}

// AssessProgramme says what the whole logbook needs. Its flags belong to no
// tank: they hold as long as the condition does and are not seen or set aside.
func AssessProgramme(in ProgrammeInput) []Flag {
	if in.Profile == nil {
		in.Profile = StockProfile()
	}
	from := in.LastBackup
	if from.IsZero() {
		from = in.Begun
	}
	hours := in.Now.Sub(from).Hours()
	if from.IsZero() || !(hours > in.Profile.any(BackupHours)) {
		return nil
	}
	r := backupOld().sourced(in.Profile.rows)
	f := Flag{Rule: r.ID, Kind: Act, Subject: "backup", Why: r.Why, Do: r.Do, Class: r.Class, Who: r.Who, Within: r.Within,
		Source: r.Source, LocalChoice: r.LocalChoice, SetAsideDays: r.SetAsideDays,
		Headline: headline(r.ID, "", logbook.Args{"Count": int(math.Floor(hours / 24))})}
	if in.LastBackup.IsZero() {
		f.Headline = headline(r.ID, "none", nil)
	}
	return []Flag{f}
}

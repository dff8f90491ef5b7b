// Package rules decides what a tank's log means today. Assess reads a whole
// season and a day and answers with a status and flags; each flag says why,
// what to do, who and by when. All lists the rules for the rules page, and a
// Profile holds their thresholds as data, each with its source.
//
// The package writes no text: it answers with message keys and typed values
// that the catalogue turns into words (locales/rules.*.json). It has no clock;
// nothing that happened after the day asked about is looked at, so that a
// replay of an old day raises what was raised then.
package rules

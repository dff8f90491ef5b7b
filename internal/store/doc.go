// Package store keeps the logbook in one SQLite file: opening and migrating it,
// every transaction, the history of corrections, sign-in records, backups and
// the verification of all of it.
//
// One connection writes (BEGIN IMMEDIATE), a small pool of read-only ones
// reads. Each exported method is one transaction. Times come from the caller.
package store

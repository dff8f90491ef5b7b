// Package words says in the reader's language what the logbook holds.
package words

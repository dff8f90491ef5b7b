// Package migrations holds the numbered, forward-only steps that build the
// database. Each file is one transaction together with its version number.
package migrations

import "embed"

// FS holds the migration files.
//
//go:embed *.sql
var FS embed.FS

// Package static embeds the files that browsers load: styles, scripts, drawings
// and the vendored chart library.
package static

import "embed"

// Files holds everything below this folder that is served.
//
//go:embed *.css *.js *.svg vendor
var Files embed.FS

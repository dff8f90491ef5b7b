// Package browser holds tests only: they drive a real Chromium against the real
// server with a real logbook, as a class, a keeper and a coordinator would.
//
// Chromium is found through REDDSIDE_CHROMIUM or the path. REDDSIDE_BROWSER says
// what to do without it: "required" fails, anything else skips; "skip" skips even
// when there is one. Pictures of the main pages are saved with
//
//	go test ./internal/browser -run TestPictures -pictures DIR
package browser

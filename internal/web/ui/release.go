package ui

// ReleaseNotice says on the page of a tank that a release comes up.
type ReleaseNotice struct {
	Text    string // "" when none does
	Href    string
	Missing []string
}

package ui

// CheckStyles are the styles of pages of checks and events.
var CheckStyles = []string{"pieces.css", "check.css"}

package ui

// pages of a season that link to one another, by the end of their address.
const (
	PageForecast = "/forecast"
	PageHow      = "/forecast/how"
	PageGuess    = "/guess"
	PagePlan     = "/plan"
	PageSurvival = "/survival"
)

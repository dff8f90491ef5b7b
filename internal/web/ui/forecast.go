package ui

// SeasonTop is the head that the pages of one season share: where they are and
// the way to the other pages.
type SeasonTop struct {
	Site, Tank, Subtitle string
	TankHref             string
	Links                []PageLink
}

// PageLink leads to another page of the season.
type PageLink struct{ Href, Text string }

// pages of a season that link to one another, by the end of their address.
const (
	PageForecast = "/forecast"
	PageHow      = "/forecast/how"
	PageGuess    = "/guess"
	PagePlan     = "/plan"
	PageSurvival = "/survival"
)

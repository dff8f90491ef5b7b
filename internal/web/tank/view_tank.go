package tank

import (
	"reddside/internal/logbook"
	"reddside/internal/web/ui"
)

// NoSeasonPage is a tank without an open season.
type NoSeasonPage struct {
	ui.Page
	Site, Tank string
	TankID     logbook.ID
	Past       []PastSeason
	Staff      bool
}

// PastSeason leads to a closed season of the tank.
type PastSeason struct{ ID, Label string }

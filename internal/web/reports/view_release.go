package reports

import (
	"reddside/internal/web/ui"
)

// GuidedPage asks for one step of something that is done once, like a release.
type GuidedPage struct {
	ui.Page
	Tank, Back, BackHref string
	Steps                []GuidedStep
	StepTitle, Intro     string
	Saved                string // that something was saved before, and by whom
	Cautions             []string
	Results              []string  // worked out from the answers so far
	Missing              []string  // what a permit form still asks for
	Facts                []ui.Fact // the answers, before the end
	Form                 ui.FormPage
	PhotosHref           string // "" where there are none
	BeforeHref           string // to what has to be ready before eggs come
}

// GuidedStep is a step in the list of steps.
type GuidedStep struct {
	Href, Text string
	Current    bool
}

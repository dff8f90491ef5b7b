package rules

import "reddside/internal/civil"

func (a *assessor) runRules() { a.temperatures(); a.misread() }

func (a *assessor) chiller(episode) {}

func (a *assessor) due(d civil.Date) bool { return !a.s.SchoolClosed(d) }

func equipmentRules() []Rule { return nil }

func checkRules() []Rule { return nil }

func stageRules() []Rule { return nil }

func waterRules() []Rule { return nil }

func deadRules() []Rule { return nil }

func totalsRules() []Rule { return nil }

func feedingRules() []Rule { return nil }

func calendarRules() []Rule { return nil }

package logbook

// Stage of life.
type Stage string

// The stages, in order of life.
const (
	GreenEgg Stage = "green_egg"
	EyedEgg  Stage = "eyed_egg"
	Alevin   Stage = "alevin"
	Fry      Stage = "fry"
	Parr     Stage = "parr"
	Smolt    Stage = "smolt"
)

// Stages lists the stages in order of life.
func Stages() []Stage { return []Stage{GreenEgg, EyedEgg, Alevin, Fry, Parr, Smolt} }

// StagesAbout lists the stages that can be seen in a tank that is believed to be in
// a stage, in order of life: up to fry for eggs and alevins, and one further for
// fish. Of a tank without a known stage, all; what somebody has answered already
// is always among them.
func StagesAbout(believed, answered Stage) []Stage {
	last := max(believed.Order()+1, Fry.Order(), answered.Order())
	if believed == "" {
		last = Smolt.Order()
	}
	return Stages()[:min(last, len(Stages()))]
}

// Order returns the place of the stage in life, from 1; 0 for no stage.
func (s Stage) Order() int {
	for i, k := range Stages() {
		if s == k {
			return i + 1
		}
	}
	return 0
}

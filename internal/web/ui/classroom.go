package ui

// Hundred are the dots of a hundred with what they say.
type Hundred struct {
	Words []string
	Dots  []Dot
	Keys  []ChartKey
	Alt   string
}

package demo

import "strconv"

// words are the note and the group of a check. Most checks have no note.
func (d *diary) words(y *day) (note, observer string) {
	group := "Group "
	notes := []string{
		"We can see the eyes move when the torch is near.",
		"The keeper topped up the tank with cold water.",
		"Two eggs roll about when the pump bubbles.",
		"Cover was off when we came in. We put it back.",
		"Filter sounds louder than last week.",
		"We counted twice.",
	}
	if d.sc.french() {
		group = "Groupe "
		notes = []string{
			"On voit bouger les yeux près de la lampe.",
			"Le couvercle était ouvert. Nous l’avons remis.",
			"Nous avons compté deux fois.",
			"Le filtre fait plus de bruit que la semaine passée.",
		}
	}
	pick, who := y.rng.IntN(len(notes)), y.rng.IntN(5)
	if y.hatched > 0.5 && pick%2 == 0 { // these speak of eggs
		pick = len(notes) - 1
	}
	if y.chance(0.07) {
		note = notes[pick]
	}
	return note, group + strconv.Itoa(who+1)
}

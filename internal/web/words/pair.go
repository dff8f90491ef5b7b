package words

import (
	"time"
)

// EntryNoteEvery is how exactly it is noted when a tablet last sent something.
const EntryNoteEvery = 5 * time.Minute

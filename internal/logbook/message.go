package logbook

// MessageKey methods name the catalogue entry of a choice, so that a stage or a
// species can be an argument of a message and appears in the reader's language.

// MessageKey returns the catalogue key of the species.
func (s Species) MessageKey() string { return "species." + string(s) }

// MessageKey returns the catalogue key of the stage.
func (s Stage) MessageKey() string { return "stage." + string(s) }

// MessageKey returns the catalogue key of the state of equipment.
func (e Equipment) MessageKey() string { return "equipment." + string(e) }

// MessageKey returns the catalogue key of how many have hatched.
func (h Hatched) MessageKey() string { return "hatched." + string(h) }

// MessageKey returns the catalogue key of the look of the water.
func (w Water) MessageKey() string { return "water." + string(w) }

// MessageKey returns the catalogue key of the sighting.
func (s Observation) MessageKey() string { return "sighting." + string(s) }

// MessageKey returns the catalogue key of the kind of event.
func (k EventKind) MessageKey() string { return "event." + string(k) }

// MessageKey returns the catalogue key of the way of counting.
func (m CountMethod) MessageKey() string { return "count_method." + string(m) }

// MessageKey returns the catalogue key of the role.
func (r Role) MessageKey() string { return "role." + string(r) }

// MessageKey returns the catalogue key of the slot.
func (s Slot) MessageKey() string { return "slot." + string(s) }

// MessageKey returns the catalogue key of the wall.
func (w Wall) MessageKey() string { return "wall." + string(w) }

package forecast

// MessageKey methods name the catalogue entry of a choice, so that it can be an
// argument of a message and appears in the reader's language.

// MessageKey returns the catalogue key of the event.
func (e Event) MessageKey() string { return "forecast.event." + string(e) }

// MessageKey returns the catalogue key of the source of a temperature.
func (s Source) MessageKey() string { return "forecast.source." + string(s) }

// MessageKey returns the catalogue key of the source of doubt.
func (k PartKind) MessageKey() string { return "forecast.part." + string(k) }

package assess

// Passed reports whether an event lies behind.
func (m *RulerPlace) Passed() bool { return m.State == MarkSeen || m.State == MarkBefore }

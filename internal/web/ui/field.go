package ui

// Field is one input of a form with what was typed.
type Field struct {
	Name     string // of the form field and its id
	Label    string
	Hint     string
	Value    string
	Mode     string // inputmode: "decimal" or "numeric"
	Type     string // "text" when empty
	Width    string // class: "w-num", "w-date"
	Optional bool
	Complete string // autocomplete token, "off" when empty
}

func (f Field) typ() string {
	if f.Type == "" {
		return "text"
	}
	return f.Type
}

func (f Field) autocomplete() string {
	if f.Complete == "" {
		return "off"
	}
	return f.Complete
}

// Option is one answer of a choice.
type Option struct{ Value, Label string }

package logbook

import (
	"errors"
	"fmt"
	"strings"
)

// Kind classes an error for the edge of the program, which maps it to a status.
type Kind int

// The kinds of error. The zero Kind is internal: its text never reaches a user.
const (
	Internal Kind = iota
	Invalid
	NotFound
	Conflict
	Unauthenticated
	Forbidden
	Unavailable
	TooLarge
)

// Args are the values of a message. Quantities keep their type (units.Celsius,
// civil.Date, int, float64, string), so that the catalogue can write them in the
// reader's language and units.
type Args map[string]any

// Problem is one thing wrong, or surprising, with one field of an entry.
type Problem struct {
	Field string // name of the form and JSON field, like "temperature"
	Key   string // message key in the catalogue
	Args  Args
	// Soft marks a surprising but possible value: it is stored once the person
	// has confirmed the field.
	Soft bool
}

// Error is an error with a meaning for a person: a kind, a message key and, for
// entries, the list of problems by field.
type Error struct {
	Kind     Kind
	Key      string
	Args     Args
	Problems []Problem
	Err      error
}

// Error writes keys, for logs; people see the catalogue's text.
func (e *Error) Error() string {
	var b strings.Builder
	b.WriteString(e.Key)
	for _, p := range e.Problems {
		fmt.Fprintf(&b, "; %s: %s", p.Field, p.Key)
	}
	if e.Err != nil {
		fmt.Fprintf(&b, ": %v", e.Err)
	}
	return b.String()
}

// Unwrap returns the cause.
func (e *Error) Unwrap() error { return e.Err }

// Errorf returns an error of a kind with a message key and arguments.
func Errorf(kind Kind, key string, args Args) *Error {
	return &Error{Kind: kind, Key: key, Args: args}
}

// Missing is the error for a row that does not exist or may not be seen: the
// two are not told apart.
func Missing(what string) *Error {
	return &Error{Kind: NotFound, Key: "error.not_found", Args: Args{"What": what}}
}

// Refuse returns an Invalid error with the problems, or nil when there are none.
func Refuse(problems []Problem) error {
	if len(problems) == 0 {
		return nil
	}
	return &Error{Kind: Invalid, Key: "error.entry", Problems: problems}
}

// KindOf returns the kind of err: Internal for an error that is not an *Error.
func KindOf(err error) Kind {
	var e *Error
	if errors.As(err, &e) {
		return e.Kind
	}
	return Internal
}

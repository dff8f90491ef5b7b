package ingest

import (
	"fmt"
	"strings"
)

// Problem is something a person has to know about a line or about the whole
// file. Key names a text in the catalogue; Args fill it.
type Problem struct {
	Line   int            `json:"line,omitempty"`   // 1 is the first line of the file; 0 means the whole file
	Column int            `json:"column,omitempty"` // 1 is the first column; 0 means the whole line
	Key    string         `json:"key"`
	Args   map[string]any `json:"args,omitempty"`
	Raw    string         `json:"raw,omitempty"` // the text as it stood in the file, cut to 120 bytes
}

// FileError says why a file cannot be read at all.
type FileError struct{ Problem Problem }

func (e *FileError) Error() string { return "ingest: file refused: " + e.Problem.Key }

// QuestionsError says that a file was understood but for the questions it holds.
type QuestionsError struct{ Questions []Question }

func (e *QuestionsError) Error() string {
	ids := make([]string, len(e.Questions))
	for i, q := range e.Questions {
		ids[i] = q.ID
	}
	return fmt.Sprintf("ingest: answer needed for %s", strings.Join(ids, ", "))
}

func refuseFile(key string, args map[string]any) error {
	return &FileError{Problem{Key: key, Args: args}}
}

// cut shortens text from outside so that a list of problems stays small.
func cut(s string) string {
	const most = 120
	s = strings.TrimSpace(s)
	if len(s) <= most {
		return s
	}
	return strings.ToValidUTF8(s[:most], "") + "…"
}

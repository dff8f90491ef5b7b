package form

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"net/http"
	"unicode/utf8"

	"reddside/internal/logbook"
)

// maxDepth bounds how deep a body may nest; nothing here needs more than 4.
const maxDepth = 20

// readTree reads a JSON body into maps, lists, strings, booleans and
// json.Number. Text that is no JSON is a bad request; a repeated name or
// something after the value is refused with its place.
func readTree(r *http.Request) (any, error) {
	data, err := io.ReadAll(r.Body)
	if err != nil {
		var tooLarge *http.MaxBytesError
		if errors.As(err, &tooLarge) {
			return nil, err
		}
		return nil, &logbook.Error{Kind: logbook.Invalid, Key: "api.not_json", Args: logbook.Args{"Offset": 0},
			Err: err}
	}
	return ParseTree(data)
}

func ParseTree(data []byte) (any, error) {
	p, err := NewTreeParser(data)
	if err != nil {
		return nil, err
	}
	tree, err := p.Value("body", 0)
	if err != nil {
		return nil, NotJSON(p.D.InputOffset())
	}
	return tree, logbook.Refuse(p.Problems)
}

func NotJSON(offset int64) error {
	return logbook.Errorf(logbook.Invalid, "api.not_json", logbook.Args{"Offset": int(offset)})
}

// NewTreeParser reads data after its whole syntax was checked: a body that
// breaks off is no JSON, whatever stands in its first half.
func NewTreeParser(data []byte) (*treeParser, error) {
	if !utf8.Valid(data) {
		return nil, NotJSON(0)
	}
	if !json.Valid(data) {
		d := json.NewDecoder(bytes.NewReader(data))
		var raw json.RawMessage
		if err := d.Decode(&raw); err != nil {
			return nil, NotJSON(d.InputOffset())
		}
		return nil, logbook.Refuse([]logbook.Problem{{Field: "body", Key: "api.trailing",
			Args: logbook.Args{"Offset": int(d.InputOffset())}}})
	}
	d := json.NewDecoder(bytes.NewReader(data))
	d.UseNumber()
	return &treeParser{D: d}, nil
}

type treeParser struct {
	D        *json.Decoder
	Problems []logbook.Problem
}

var errDeep = errors.New("nested too deep")

// joinPath names a field by its place: "temperature.value". The body itself is
// left out of it.
func joinPath(path, name string) string {
	if path == "body" || path == "" {
		return name
	}
	return path + "." + name
}

// JSONText is a number as it was written, "" for anything else.
func JSONText(v any) string {
	n, _ := v.(json.Number)
	return n.String()
}

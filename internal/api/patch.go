package api

import (
	"encoding/json"
	"fmt"
	"net/http"
	"reflect"
	"slices"

	"reddside/internal/logbook"
	"reddside/internal/web/form"
)

// edit is a PATCH: a merge patch (RFC 7396) over what is stored. Fields that it
// does not name stay, null takes a value away.
type edit struct {
	*form.Object          // the row as it is to be, read like the body of a create
	reason       string   // why; needed where the history asks for it
	confirm      []string // surprising values that are right
	base         map[string]any
}

// readEdit reads the body of a PATCH on a row whose JSON form is now; fields
// are those that can be edited.
func readEdit(r *http.Request, now any, fields []string) (*edit, error) {
	if err := form.NoQuery(r); err != nil {
		return nil, err
	}
	patch, err := form.ReadObject(r)
	if err != nil {
		return nil, err
	}
	e := &edit{reason: patch.Text("reason"), confirm: patch.Words("confirm")}
	patch.Known = append(patch.Known, fields...)
	patch.End()
	if err := logbook.Refuse(*patch.Problems); err != nil {
		return nil, err
	}
	b, err := json.Marshal(now)
	if err != nil {
		return nil, fmt.Errorf("encode stored row: %w", err)
	}
	tree, err := form.ParseTree(b)
	if err != nil {
		return nil, fmt.Errorf("read stored row: %w", err)
	}
	e.base, _ = tree.(map[string]any)
	for name, v := range e.base {
		if v == nil || !slices.Contains(fields, name) {
			delete(e.base, name)
		}
	}
	delete(patch.Fields, "reason")
	delete(patch.Fields, "confirm")
	merged, _ := mergePatch(e.base, patch.Fields).(map[string]any)
	e.Object = &form.Object{Fields: merged, Path: "body", Problems: patch.Problems}
	return e, nil
}

// changed reports whether the edit touches a field.
func (e *edit) changed(name string) bool { return !reflect.DeepEqual(e.base[name], e.Fields[name]) }

// mergePatch is the procedure of RFC 7396, section 2; target is left as it is.
func mergePatch(target, patch any) any {
	p, ok := patch.(map[string]any)
	if !ok {
		return patch
	}
	out := map[string]any{}
	if t, ok := target.(map[string]any); ok {
		for k, v := range t {
			out[k] = v
		}
	}
	for k, v := range p {
		if v == nil {
			delete(out, k)
		} else {
			out[k] = mergePatch(out[k], v)
		}
	}
	return out
}

// readReason reads why a row is taken back: from the body of a DELETE, or from
// the address for programs that cannot send one.
func readReason(r *http.Request) (string, error) {
	q := form.ReadQuery(r)
	reason := q.Text("reason")
	if err := q.Done(); err != nil || reason != "" || r.ContentLength == 0 {
		return reason, err
	}
	o, err := form.ReadObject(r)
	if err != nil {
		return "", err
	}
	reason = o.Text("reason")
	o.End()
	return reason, logbook.Refuse(*o.Problems)
}

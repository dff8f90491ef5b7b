package api

import (
	_ "embed"
	"encoding/json"
	"fmt"
	"net/http"

	"reddside/internal/web/form"
	"reddside/internal/web/req"
)

//go:embed openapi_schemas.json
var openapiSchemas []byte

// apiDocument answers with the OpenAPI description of the interface. It holds
// nothing secret, so that a program can be written before it has a token.
func (s *Service) apiDocument(w http.ResponseWriter, r *http.Request) error {
	if err := form.NoQuery(r); err != nil {
		return err
	}
	doc, err := openapi()
	if err != nil {
		return err
	}
	return req.WriteJSON(w, http.StatusOK, doc)
}

// openapi puts the description together from the table of operations and the
// schemas.
func openapi() (map[string]any, error) {
	var schemas map[string]any
	if err := json.Unmarshal(openapiSchemas, &schemas); err != nil {
		return nil, fmt.Errorf("read schemas: %w", err)
	}
	entrySchemas(schemas)
	paths := map[string]any{}
	for _, op := range Operations() {
		at, _ := paths[op.Path].(map[string]any)
		if at == nil {
			at = map[string]any{}
			paths[op.Path] = at
		}
		at[op.Method] = op.describe()
	}
	return map[string]any{
		"openapi": "3.1.0",
		"info": map[string]any{
			"title": "Reddside", "version": "1",
			"description": "Logbook and decision aid for classroom salmonid hatcheries. Dates are civil dates at the site (YYYY-MM-DD); " +
				"instants are RFC 3339. Units stand in the names. Unknown, repeated and empty parameters and unknown fields are refused by name. " +
				"Creates take an Idempotency-Key, kept for 30 days: the same key and body give the same answer, the same key with another body 422. " +
				"A create without a key is allowed and not protected from being sent twice. Edits are merge patches (RFC 7396) and need If-Match " +
				"with the ETag (the revision in quotes): 428 without, 412 when somebody was faster. Checks, events, samples and deliveries are never " +
				"overwritten or deleted: an edit needs a reason, a DELETE takes the row back with a reason. A surprising value is refused with " +
				"errors[].confirm true; send its field name in confirm to store it. What a keeper or class may not see is 404. " +
				"Permit and local rules come before every number given here.",
			"license": map[string]any{"name": "Apache-2.0", "identifier": "Apache-2.0"},
		},
		"servers": []any{map[string]any{"url": "/api/v1"}},
		"paths":   paths,
		"components": map[string]any{
			"schemas": schemas,
			"securitySchemes": map[string]any{
				"bearer":  map[string]any{"type": "http", "scheme": "bearer", "description": "from: server token"},
				"session": map[string]any{"type": "apiKey", "in": "cookie", "name": req.CookieSession},
			},
		},
	}, nil
}

// operation describes one call.
type operation struct {
	Method, Path, summary string
	Who                   string // public, everyone, staff or coordinator
	Query                 []parameter
	Body, Answer          string // names of schemas; answer "" is a zip
	Status                int
	Example               string // body, as JSON
	Text                  string // example of a body that is a logger file
	Key, Match            bool   // takes Idempotency-Key, needs If-Match
}

// parameter is one parameter of an address.
type parameter struct {
	Name, about string
	Example     any
	Optional    bool
}

func need(name, about string, example any) parameter { return parameter{name, about, example, false} }
func may(name, about string, example any) parameter  { return parameter{name, about, example, true} }

func (op operation) describe() map[string]any {
	d := map[string]any{"summary": op.summary, "operationId": op.ID(), "description": "For: " + op.Who + "."}
	if op.Who == "public" {
		d["security"] = []any{}
	} else {
		d["security"] = []any{map[string]any{"bearer": []any{}}, map[string]any{"session": []any{}}}
	}
	if params := op.parameters(); len(params) > 0 {
		d["parameters"] = params
	}
	content := map[string]any{}
	if op.Body != "" {
		media := map[string]any{"schema": RefTo(op.Body)}
		if op.Example != "" {
			media["example"] = json.RawMessage(op.Example)
		}
		content["application/json"] = media
	}
	if op.Text != "" {
		content["text/csv"] = map[string]any{"schema": map[string]any{"type": "string"}, "example": op.Text}
	}
	if len(content) > 0 {
		d["requestBody"] = map[string]any{"required": op.Method != "delete", "content": content}
	}
	answer := map[string]any{"application/zip": map[string]any{}}
	if op.Answer != "" {
		answer = map[string]any{"application/json": map[string]any{"schema": RefTo(op.Answer)}}
	}
	d["responses"] = map[string]any{
		fmt.Sprint(op.Status): map[string]any{"description": "done", "content": answer},
		"default": map[string]any{"description": "refused", "content": map[string]any{
			"application/problem+json": map[string]any{"schema": RefTo("Problem")}}},
	}
	return d
}

// ID is the name of the operation for generated clients.
func (op operation) ID() string {
	out := []byte(op.Method)
	for _, c := range []byte(op.Path) {
		switch {
		case c >= 'a' && c <= 'z', c >= 'A' && c <= 'Z':
			out = append(out, c)
		case out[len(out)-1] != '_':
			out = append(out, '_')
		}
	}
	return string(out)
}

func (op operation) parameters() []any {
	var out []any
	for i := 0; i < len(op.Path); i++ {
		if op.Path[i] == '{' {
			end := i + 1
			for op.Path[end] != '}' {
				end++
			}
			out = append(out, map[string]any{"name": op.Path[i+1 : end], "in": "path", "required": true,
				"schema": map[string]any{"type": "string"}})
		}
	}
	for _, p := range op.Query {
		kind := "string"
		if _, ok := p.Example.(float64); ok {
			kind = "number"
		}
		out = append(out, map[string]any{"name": p.Name, "in": "query", "required": !p.Optional, "description": p.about,
			"schema": map[string]any{"type": kind}, "example": p.Example})
	}
	if op.Key {
		out = append(out, map[string]any{"name": "Idempotency-Key", "in": "header", "required": false,
			"schema": map[string]any{"type": "string", "minLength": 1, "maxLength": maxKey}})
	}
	if op.Match {
		out = append(out, map[string]any{"name": "If-Match", "in": "header", "required": true,
			"schema": map[string]any{"type": "string"}})
	}
	return out
}

func RefTo(schema string) map[string]any {
	return map[string]any{"$ref": "#/components/schemas/" + schema}
}

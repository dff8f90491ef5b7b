package api

import (
	"context"
	"maps"
	"net/http"

	"github.com/go-chi/chi/v5"

	"reddside/internal/entries"
	"reddside/internal/logbook"
	"reddside/internal/web/form"
	"reddside/internal/web/req"
)

// sharedKind is how rows of the whole programme are listed, shown and written through
// the JSON interface.
type sharedKind[T any] struct {
	*Service
	path, id string // of all of them, and the name of one in addresses
	rows     entries.Rows[T]
	// more adds to the answer what is not a field, nil for nothing.
	more func(context.Context, *T, object) error
}

func (s *Service) permitRows() sharedKind[logbook.Permit] {
	return sharedKind[logbook.Permit]{s, "permits", "permitID", s.Entries.Permits(),
		func(ctx context.Context, p *logbook.Permit, out object) error {
			under, err := s.DB.PermitSeasons(ctx)
			out["season_ids"] = append([]logbook.ID{}, under[p.ID]...)
			return err
		}}
}

func (s *Service) placeRows() sharedKind[logbook.ReleasePlace] {
	return sharedKind[logbook.ReleasePlace]{s, "release-places", "placeID", s.Entries.ReleasePlaces(), nil}
}

// read and write are the routes for those who read and for coordinators.
func (k sharedKind[T]) read(r chi.Router) {
	r.Get("/"+k.path, k.API(k.list))
	r.Get("/"+k.path+"/{"+k.id+"}", k.API(k.show))
}

func (k sharedKind[T]) write(r chi.Router) {
	r.Post("/"+k.path, k.API(k.create))
	r.Patch("/"+k.path+"/{"+k.id+"}", k.API(k.patch))
	r.Delete("/"+k.path+"/{"+k.id+"}", k.API(k.takeBack))
}

func (k sharedKind[T]) json(ctx context.Context, row *T) (object, error) {
	out := entryJSON(k.rows.Entry(row))
	out["id"] = *k.rows.ID(row)
	maps.Copy(out, fieldsJSON(k.rows.Fields, row))
	if k.more == nil {
		return out, nil
	}
	return out, k.more(ctx, row, out)
}

func (k sharedKind[T]) list(w http.ResponseWriter, r *http.Request) error {
	if err := form.NoQuery(r); err != nil {
		return err
	}
	rows, err := k.rows.List(r.Context())
	if err != nil {
		return err
	}
	out := list[object]{Items: []object{}}
	for i := range rows {
		o, err := k.json(r.Context(), &rows[i])
		if err != nil {
			return err
		}
		out.Items = append(out.Items, o)
	}
	return req.WriteJSON(w, http.StatusOK, out)
}

func (k sharedKind[T]) show(w http.ResponseWriter, r *http.Request) error {
	if err := form.NoQuery(r); err != nil {
		return err
	}
	row, err := k.rows.One(r.Context(), req.URLID(r, k.id))
	if err != nil {
		return err
	}
	return k.answer(w, r, http.StatusOK, &row)
}

func (k sharedKind[T]) answer(w http.ResponseWriter, r *http.Request, status int, row *T) error {
	out, err := k.json(r.Context(), row)
	if err != nil {
		return err
	}
	setETag(w, k.rows.Entry(row).Revision)
	w.Header().Set("Location", "/api/v1/"+k.path+"/"+string(*k.rows.ID(row)))
	return req.WriteJSON(w, status, out)
}

func (k sharedKind[T]) create(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	if err := form.NoQuery(r); err != nil {
		return err
	}
	o, err := form.ReadObject(r)
	if err != nil {
		return err
	}
	once, answered, err := k.once(r, o.Fields)
	if err != nil {
		return err
	}
	var row T
	readFields(o, k.rows.Fields, &row)
	o.End()
	if err := logbook.Refuse(*o.Problems); err != nil {
		return err
	}
	if row, err = k.rows.New(r.Context(), v.Actor, row, v.Now, once, answered); err != nil {
		return renamed(err, jsonNames(k.rows.Fields))
	}
	return k.answer(w, r, http.StatusCreated, &row)
}

// matching loads the row of the address in the revision that the request names.
func (k sharedKind[T]) matching(r *http.Request) (T, error) {
	row, err := k.rows.One(r.Context(), req.URLID(r, k.id))
	if err != nil {
		return row, err
	}
	return row, ifMatch(r, k.rows.Entry(&row).Revision)
}

func (k sharedKind[T]) patch(w http.ResponseWriter, r *http.Request) error {
	have, err := k.matching(r)
	if err != nil {
		return err
	}
	e, err := readEdit(r, fieldsJSON(k.rows.Fields, &have), edits(k.rows.Fields))
	if err != nil {
		return err
	}
	var row T
	readFields(e.Object, k.rows.Fields, &row)
	*k.rows.ID(&row), *k.rows.Entry(&row) = *k.rows.ID(&have), *k.rows.Entry(&have)
	if err := logbook.Refuse(*e.Problems); err != nil {
		return err
	}
	return k.change(w, r, row, false, e.reason)
}

func (k sharedKind[T]) takeBack(w http.ResponseWriter, r *http.Request) error {
	have, err := k.matching(r)
	if err != nil {
		return err
	}
	reason, err := readReason(r)
	if err != nil {
		return err
	}
	return k.change(w, r, have, true, reason)
}

func (k sharedKind[T]) change(w http.ResponseWriter, r *http.Request, row T, void bool, reason string) error {
	row, err := k.rows.Change(r.Context(), req.Of(r).Actor, row, void, reason, req.Of(r).Now)
	if err != nil {
		return renamed(err, jsonNames(k.rows.Fields))
	}
	return k.answer(w, r, http.StatusOK, &row)
}

// apiPermitAttach puts seasons under a permit, or takes them from under it.
func (s *Service) apiPermitAttach(w http.ResponseWriter, r *http.Request) error {
	if err := form.NoQuery(r); err != nil {
		return err
	}
	v, p := req.Of(r), req.URLID(r, "permitID")
	o, err := form.ReadObject(r)
	if err != nil {
		return err
	}
	attach, detach := seasonIDs(o.Words("attach")), seasonIDs(o.Words("detach"))
	o.End()
	if err := logbook.Refuse(*o.Problems); err != nil {
		return err
	}
	if err := s.Entries.AttachPermit(r.Context(), v.Actor, p, attach, detach, v.Now); err != nil {
		return err
	}
	row, err := s.DB.Permit(r.Context(), p)
	if err != nil {
		return err
	}
	return s.permitRows().answer(w, r, http.StatusOK, &row)
}

func seasonIDs(words []string) []logbook.ID {
	var out []logbook.ID
	for _, w := range words {
		out = append(out, logbook.ID(w))
	}
	return out
}

// sharedSchemas describes the rows of the whole programme.
func sharedSchemas(out object) {
	ids := object{"type": "array", "items": object{"type": "string"}}
	sharedSchema(out, "Permit", logbook.PermitFields(), "number", object{"season_ids": ids})
	sharedSchema(out, "ReleasePlace", logbook.PlaceFields(), "name", nil)
	out["PermitSeasons"] = object{"type": "object", "properties": object{"attach": ids, "detach": ids},
		"additionalProperties": false}
}

func sharedSchema[T any](out object, name string, fields []logbook.Field[T], must string, more object) {
	give, always := gives(fields, []string{must})
	delete(give, "season_id")
	maps.Copy(give, more)
	var required []string
	for _, x := range always {
		if x != "season_id" {
			required = append(required, x)
		}
	}
	for x := range more {
		required = append(required, x)
	}
	closed := func(properties object, required []string) object {
		if required == nil {
			required = []string{}
		}
		return object{"type": "object", "properties": properties, "required": required, "additionalProperties": false}
	}
	out[name] = closed(give, required)
	take, needed := takes(fields, false)
	out[name+"Input"] = closed(take, needed)
	change, _ := takes(fields, true)
	change["reason"] = object{"type": "string"}
	out[name+"Patch"] = closed(change, nil)
	out[name+"List"] = closed(object{"items": object{"type": "array", "items": RefTo(name)}}, []string{"items"})
}

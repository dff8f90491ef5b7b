// Package form decodes forms, queries and JSON bodies, and builds the fields of forms.
package form

package ui

import "strings"

// Addresses of pages. Each takes the id of a row and the rest of the path, as
// "/checks/new", or none for the row's own page.

// CheckPath is a page of a check.
func CheckPath[T ~string](id T, rest ...string) string { return path("checks", string(id), rest) }

// DeliveryPath is a page of a delivery.
func DeliveryPath[T ~string](id T, rest ...string) string {
	return path("deliveries", string(id), rest)
}

// EventPath is a page of an event.
func EventPath[T ~string](id T, rest ...string) string { return path("events", string(id), rest) }

// FlagPath is a page of a flag.
func FlagPath[T ~string](id T, rest ...string) string { return path("flags", string(id), rest) }

// ImportPath is a page of an import.
func ImportPath[T ~string](id T, rest ...string) string { return path("imports", string(id), rest) }

// LotPath is a page of a lot.
func LotPath[T ~string](id T, rest ...string) string { return path("lots", string(id), rest) }

// PersonPath is a page of a person.
func PersonPath[T ~string](id T, rest ...string) string { return path("people", string(id), rest) }

// PhotoPath is a page of a photo.
func PhotoPath[T ~string](id T, rest ...string) string { return path("photos", string(id), rest) }

// ReleasePath is a page of a release.
func ReleasePath[T ~string](id T, rest ...string) string { return path("releases", string(id), rest) }

// SamplePath is a page of a sample.
func SamplePath[T ~string](id T, rest ...string) string { return path("samples", string(id), rest) }

// SeasonPath is a page of a season.
func SeasonPath[T ~string](id T, rest ...string) string { return path("seasons", string(id), rest) }

// SitePath is a page of a site.
func SitePath[T ~string](id T, rest ...string) string { return path("sites", string(id), rest) }

// TankPath is a page of a tank.
func TankPath[T ~string](id T, rest ...string) string { return path("tanks", string(id), rest) }

func path(kind, id string, rest []string) string {
	return "/" + kind + "/" + id + strings.Join(rest, "")
}

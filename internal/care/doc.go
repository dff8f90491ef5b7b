// Package care holds what to do: steps of advice as data, each with the
// situation it is for, its urgency, its source and how that is known, and the
// answers of the pages on failures, water, food and the stream as plain structs.
//
// A step has one text wherever it stands. Flags and pages choose from the same
// list by Choose, so that what two pages say of one tank cannot differ.
package care

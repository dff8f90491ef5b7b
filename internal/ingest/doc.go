// Package ingest reads files of temperature loggers, of oxygen loggers, and
// logbook CSV files written by people or by other programs.
//
// # Logger files
//
// Reading takes two steps. Detect says how a file is written (encoding,
// separator, decimal mark, order of the date, unit, zone), which series it
// offers, and what it cannot know: each such thing is a Question. Read takes
// the file again with the Answers and the zone of the site and returns every
// reading of one series, every refused row with its line and reason, and
// counts of the rows that hold nothing of the series.
//
// What it never does:
//   - invent a time: a date without a time of day becomes a daily value with a
//     civil date, or is refused in a file of instants; a wall-clock time that a
//     clock change skips or repeats is refused unless the file gives an offset;
//   - guess a number: 1,500 may be 1.5 or 1500;
//   - guess a date: 18/05/24 is asked about;
//   - believe a heading against the values: a column of °C at 43 to 45 is asked about;
//   - drop a value: impossible, spiked and stuck readings are kept and marked
//     suspect, to be left out of sums;
//   - choose between two values of one instant: both rows are refused. The
//     same value twice is one reading.
//
// An offset in the heading of the time column ("Date Time, GMT-04:00") holds
// for the whole file; loggers do not follow summer time, and "(standard time)" is the
// standard time of the site all year. Without one the zone of the site is used. Unix
// seconds are UTC; day numbers of a spreadsheet are on the wall clock.
//
// Readings of the air at the start and the end are marked suspect, which a person may
// take back by an answer. The first sheet with dates of a spreadsheet (XLSX) is read
// unless an answer names another.
//
// A series has a quantity: temperature, oxygen in mg/L or percent, or
// pressure. Read works for each; the logbook stores temperature.
//
// # Logbook CSV
//
// ReadChecks reads checks, all or none. The header names the columns in any
// order and case; spaces and hyphens count as underscores. Columns:
//
//	on              date, YYYY-MM-DD (also: date)                     required
//	slot            morning, extra, extra_2 ... (empty: morning)
//	time            HH:MM on the wall clock
//	temperature     number; unit in temperature_unit or after it (7.5 C)
//	temperature_unit  Cel or [degF] (also C, F, °C, °F); empty: Cel
//	temperature_c, temperature_f   instead of the two above
//	dead            whole number, put to the stage of the row, which must be given
//
// and every other field of a check by its name (logbook.CheckFields): choices by
// their values, numbers in the unit of the field, the observer a group or role,
// never a name.
//
// Separator comma, semicolon or tab; UTF-8 with or without mark, UTF-16 or
// Windows-1252; decimals with a dot or a comma. An empty cell is "not
// observed", never 0. A column with another name is a problem, not ignored.
package ingest

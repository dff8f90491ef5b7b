// Package demo invents a programme in mid-season, so that a newcomer sees a
// logbook with everything in it. Schools, rivers, hatcheries and numbers are
// made up; the programme is marked as invented and every page says so.
//
// The days count back from today, whatever the month. The same now gives the
// same content. Rows go through the validation and the store of real entries;
// the logger file goes through the reader of real files.
//
// What is where:
//
//	Birchlight School         Room 12         lot MOSS-7, warm: hatching now, with foam
//	                          Library         lot MOSS-7, cold: still eyed
//	                          Room 3          brook trout, no check today
//	Copperfern School (°F)    Science lab     near swim-up, setpoint raised twice
//	                          Front hall      alevins, ammonia rising
//	École de la Lune-Bavarde  Local 204       chiller drifting warmer (French)
//	                          Atelier         half-hourly logger for two weeks, with a gap
//	Harrowmere School         Greenhouse      air pump stopped today
//
// Room 21 feeding fry, weighed twice, food held a day; a corrected check and late ones
//
//	Northquill School         Wet lab         brook trout, a run of deaths with white fuzz
//	                          Reading corner  brook trout, perfectly fine
//	Tidewhistle School        Blue tank       eggs delivered a few days ago
//
// Room 12, Greenhouse and Reading corner also have a season of last year:
// counted, released and closed; in Greenhouse nine fish are not accounted for. All schools had a holiday about six
// weeks ago, with a look
// every other day, and nobody looked on the last weekend. Groups take turns by
// weekday. Birchlight and Copperfern are closed on the next long weekend: in
// Birchlight the caretaker looks, in Copperfern nobody is named yet. Notes in
// Room 3 and Greenhouse wait for an answer; one in Wet lab has its answer.
package demo

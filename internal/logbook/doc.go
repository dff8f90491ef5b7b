// Package logbook holds what the logbook is about: programme, site, tank, lot,
// season, delivery, check, reading and event, with the rules that decide
// whether an entry can be stored. It knows no database, no web page and no
// clock. The aggregate that everything else computes from is Season.
//
// # The words
//
// They mean the same in code, tables, addresses and on screens.
//
//   - Programme: everything one coordinator looks after. Site: a school. Tank: a
//     chilled tank there. Lot: eggs of one spawning and origin. Season: one lot
//     in one tank until its release.
//   - Delivery: eggs or fry put into the tank, with their number. Pick: dead
//     taken out and counted.
//   - Check: what somebody looked at, once a day or more often. Reading: one
//     temperature of a logger. Event: what was done or happened. Sample: fish
//     weighed and measured. Treatment: a product given, and who allowed it.
//   - Observation: a yes or no, a stage or a number that somebody saw, as opposed
//     to what was reckoned.
//   - Stage: green, eyed, hatching, alevin, fry. Thermal units: degree-days above
//     0 °C (ATU). Index: share of the thermal way to an event, 1 is the event.
//     Trajectory: the states of development, a day after the other.
//   - Setpoint: the temperature the chiller is set to.
//
// Of entries:
//
//   - Validate: whether values can be. Surprise: values that can be and need a
//     confirmation.
//   - Correct: new values in place of the old ones, with a reason; the old ones
//     stay in the history. Void: an entry that no longer counts; it stays too.
//   - Revision: counts the corrections of a row. Edit conflict: a correction that
//     was begun on an older revision.
//   - Idempotency key: makes a create that is sent twice one row.
//   - Pending submission: an entry that came after its sign-in had ended, kept
//     for its author.
//
// Of flags, as the standards of alarm management (ISA 18.2, IEC 62682) use them:
//
//   - Note, watch, act: the levels of a flag, by what it asks for.
//   - Raised, cleared: when its condition began and ended. Episode: the time
//     between.
//   - Acknowledge: somebody has seen it ("Seen" on the page). Shelve: put aside
//     until a day, with a reason. Finding: what it turned out to be.
//   - Caveat: what limits the trust in a result.
package logbook

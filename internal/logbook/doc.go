// Package logbook holds what the logbook is about: programme, site, tank, lot,
// season, delivery, check, reading and event, with the rules that decide
// whether an entry can be stored. It knows no database, no web page and no
// clock. The aggregate that everything else computes from is Season.
package logbook

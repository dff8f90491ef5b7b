package web

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"reddside/internal/logbook"
	"reddside/internal/rules"
	"reddside/internal/store"
	"reddside/internal/web/view"
)

// boardLife is what the board tells of the life of a tank's flags.
type boardLife struct {
	Aside, Unseen, Ended int
	ids                  map[flagPlace]logbook.ID
	rest                 map[flagPlace]bool // set aside
	// Newest flag and newest entry, to tell what is new to a reader.
	FlagAt, EntryAt time.Time
}

// boardLives reads the open flags and the flags that ended unseen, by season.
func (s *Server) boardLives(ctx context.Context) (map[logbook.ID][]store.Flag, error) {
	out, err := s.db.OpenFlags(ctx)
	if err != nil {
		return nil, err
	}
	ended, err := s.db.FlagsToSee(ctx)
	if err != nil {
		return nil, err
	}
	for id, list := range ended {
		out[id] = append(out[id], list...)
	}
	return out, nil
}

func boardLifeOf(a *assessed, lives flagLives) boardLife {
	l := boardLife{Ended: len(lives.ended)}
	l.Aside, l.Unseen = lives.awaken(&a.Assessment)
	for i := range a.Assessment.Flags {
		f := &a.Assessment.Flags[i]
		k := lives.of(f)
		if k == nil {
			continue
		}
		p := flagPlace{rule: f.Rule, subject: f.Subject}
		if l.ids == nil {
			l.ids, l.rest = map[flagPlace]logbook.ID{}, map[flagPlace]bool{}
		}
		l.ids[p] = k.ID
		l.rest[p] = lives.aside(f, a.Today)
		if f.Kind != rules.Note && k.RaisedAt.After(l.FlagAt) {
			l.FlagAt = k.RaisedAt
		}
	}
	for _, k := range lives.ended {
		if k.ClearedAt.After(l.FlagAt) {
			l.FlagAt = k.ClearedAt
		}
	}
	entry := func(e logbook.Entry) {
		if e.ReceivedAt.After(l.EntryAt) {
			l.EntryAt = e.ReceivedAt
		}
		if e.ChangedAt.After(l.EntryAt) {
			l.EntryAt = e.ChangedAt
		}
	}
	s := a.Season
	for i := range s.Checks {
		entry(s.Checks[i].Entry)
	}
	for i := range s.Events {
		entry(s.Events[i].Entry)
	}
	for i := range s.Deliveries {
		entry(s.Deliveries[i].Entry)
	}
	return l
}

// anchor is the place of a flag on the page of its tank.
func (l *boardLife) anchor(f *rules.Flag) string {
	if id := l.ids[flagPlace{rule: f.Rule, subject: f.Subject}]; id != "" {
		return "#flag-" + string(id)
	}
	return "#flags"
}

// boardNews fills what is new since the reader was here last, and the counts of
// all tanks that the reader may see.
func (s *Server) boardNews(w http.ResponseWriter, r *http.Request, m *view.Board, all, shown []*boardEntry, rows []view.BoardRow) {
	v := visitOf(r)
	since := s.lastVisit(w, r)
	for _, e := range all {
		m.Unseen, m.Aside, m.Ended = m.Unseen+e.Life.Unseen, m.Aside+e.Life.Aside, m.Ended+e.Life.Ended
		if e.Life.newsSince(since) != "" {
			m.Changed++
		}
	}
	for i, e := range shown {
		if key := e.Life.newsSince(since); key != "" {
			rows[i].News = v.p.T(key)
		}
	}
	if !since.IsZero() {
		m.Since = atSite(v.p, logbook.Site{Zone: s.readerZone(v, all)}, since)
	}
	if v.actor.Role == logbook.Coordinator {
		m.Programme = s.programmeFlags(r.Context(), v)
	}
}

// readerZone is the zone that a reader's times are written in: of their school,
// or of the first school on the board.
func (s *Server) readerZone(v *visit, all []*boardEntry) string {
	for _, e := range all {
		if v.actor.SiteID == "" || e.Site.ID == v.actor.SiteID {
			return e.Site.Zone
		}
	}
	return "UTC"
}

// newsSince is the message key of what is new since a time, "" for nothing and
// for a reader who was never here.
func (l *boardLife) newsSince(since time.Time) string {
	switch {
	case since.IsZero():
		return ""
	case l.FlagAt.After(since):
		return "board.new_flag"
	case l.EntryAt.After(since):
		return "board.new_entry"
	}
	return ""
}

// visitGap is the time after which looking at the board is a new visit. A local
// choice.
const visitGap = 30 * time.Minute

// cookieVisit remembers when a reader looked at the board: the visit before this
// one and the last look. A cookie, because reading writes nothing in the logbook;
// it holds two times, and its name a digest of the role, so that two people at
// one computer do not share it.
const cookieVisit = "reddside_board_"

// lastVisit returns when the reader's visit before this one ended, zero when
// there was none, and notes this look.
func (s *Server) lastVisit(w http.ResponseWriter, r *http.Request) time.Time {
	v := visitOf(r)
	sum := sha256.Sum256([]byte(string(v.actor.Role) + "/" + string(v.actor.AccountID) + "/" + string(v.actor.SiteID) + "/" + v.actor.Label))
	name := cookieVisit + hex.EncodeToString(sum[:6])
	var before, last int64
	if c, err := r.Cookie(name); err == nil {
		a, b, _ := strings.Cut(c.Value, ".")
		before, _ = strconv.ParseInt(a, 10, 64)
		last, _ = strconv.ParseInt(b, 10, 64)
	}
	now := v.now.Unix()
	if last > now || before > last {
		before, last = 0, 0
	}
	if last != 0 && now-last > int64(visitGap/time.Second) {
		before = last
	}
	http.SetCookie(w, &http.Cookie{Name: name, Value: strconv.FormatInt(before, 10) + "." + strconv.FormatInt(now, 10), Path: "/board",
		MaxAge: 400 * 24 * 3600, HttpOnly: true, SameSite: http.SameSiteLaxMode, Secure: s.tls})
	if before == 0 {
		return time.Time{}
	}
	return time.Unix(before, 0).UTC()
}

// programmeFlags are the flags about the logbook itself. When they cannot be
// worked out, the board still shows its tanks.
func (s *Server) programmeFlags(ctx context.Context, v *visit) []rules.Flag {
	if s.demo || s.db.ReadOnly() {
		return nil
	}
	profile, err := s.profile(ctx)
	if err != nil {
		s.log.Error("flags of the logbook", "err", err)
		return nil
	}
	in := rules.ProgrammeInput{Now: v.now, Profile: profile}
	list, err := store.ReadCopies(s.backupDir(), v.now)
	if err != nil {
		s.log.Error("last backup", "err", err)
	}
	in.LastBackup = list.Sound().LastAt()
	for _, c := range slices.Backward(list.Doubtful()) {
		if c.Doubt == store.Ahead {
			in.AheadBackups = append(in.AheadBackups, c.File)
			in.AheadTo = list.LastAt()
		} else {
			in.UnsureBackups = append(in.UnsureBackups, c.File)
		}
	}
	if in.Begun, err = s.db.Begun(ctx); err != nil {
		s.log.Error("begin of the logbook", "err", err)
	}
	return rules.AssessProgramme(in)
}

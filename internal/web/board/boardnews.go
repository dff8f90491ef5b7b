package board

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"reddside/internal/assess"
	"reddside/internal/logbook"
	"reddside/internal/replica"
	"reddside/internal/rules"
	"reddside/internal/store"
	"reddside/internal/web/req"
	"reddside/internal/web/words"
)

// boardNews fills what is new since the reader was here last, and the counts of
// all tanks that the reader may see.
func (s *Service) boardNews(w http.ResponseWriter, r *http.Request, m *Board, all, shown []*assess.BoardEntry,
	rows []BoardRow) {
	v := req.Of(r)
	since := s.lastVisit(w, r)
	for _, e := range all {
		m.Unseen, m.Aside, m.Ended = m.Unseen+e.Life.Unseen, m.Aside+e.Life.Aside, m.Ended+e.Life.Ended
		if e.Life.NewsSince(since) != "" {
			m.Changed++
		}
	}
	for i, e := range shown {
		if key := e.Life.NewsSince(since); key != "" {
			rows[i].News = v.P.T(key)
		}
	}
	if !since.IsZero() {
		m.Since = words.AtSite(v.P, logbook.Site{Zone: s.ReaderZone(v, all)}, since)
	}
	if v.Actor.Role == logbook.Coordinator {
		m.Programme = s.programmeFlags(r.Context(), v)
	}
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
func (s *Service) lastVisit(w http.ResponseWriter, r *http.Request) time.Time {
	v := req.Of(r)
	sum := sha256.Sum256([]byte(string(v.Actor.Role) + "/" + string(v.Actor.AccountID) + "/" + string(v.Actor.SiteID) +
		"/" + v.Actor.Label))
	name := cookieVisit + hex.EncodeToString(sum[:6])
	var before, last int64
	if c, err := r.Cookie(name); err == nil {
		a, b, _ := strings.Cut(c.Value, ".")
		before, _ = strconv.ParseInt(a, 10, 64)
		last, _ = strconv.ParseInt(b, 10, 64)
	}
	now := v.Now.Unix()
	if last > now || before > last {
		before, last = 0, 0
	}
	if last != 0 && now-last > int64(visitGap/time.Second) {
		before = last
	}
	http.SetCookie(w, &http.Cookie{Name: name, Value: strconv.FormatInt(before, 10) + "." + strconv.FormatInt(now, 10),
		Path:   "/board",
		MaxAge: 400 * 24 * 3600, HttpOnly: true, SameSite: http.SameSiteLaxMode, Secure: s.TLS})
	if before == 0 {
		return time.Time{}
	}
	return time.Unix(before, 0).UTC()
}

// programmeFlags are the flags about the logbook itself. When they cannot be
// worked out, the board still shows its tanks.
func (s *Service) programmeFlags(ctx context.Context, v *req.Info) []rules.Flag {
	if s.Demo || s.DB.ReadOnly() {
		return nil
	}
	profile, err := s.Assess.Profile(ctx)
	if err != nil {
		s.Log.Error("flags of the logbook", "err", err)
		return nil
	}
	in := rules.ProgrammeInput{Now: v.Now, Profile: profile}
	list, err := store.ReadCopies(s.BackupDir(), v.Now)
	if err != nil {
		s.Log.Error("last backup", "err", err)
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
	if s.Replica != nil {
		c := s.Replica.State()
		behind := c.Behind(v.Now)
		in.Elsewhere = &rules.ElsewhereCopy{Place: c.Place, Behind: behind, Late: behind > replica.Late,
			Failed: c.Proof.Err != ""}
	}
	if in.Begun, err = s.DB.Begun(ctx); err != nil {
		s.Log.Error("begin of the logbook", "err", err)
	}
	return rules.AssessProgramme(in)
}

-- Pages that save each step until they are finished, and calendar feeds.

-- +goose Up
-- What was told so far of a release (of a season) or a delivery (to a tank).
CREATE TABLE guided_draft (
    kind       TEXT NOT NULL CHECK (kind IN ('release', 'delivery')),
    subject_id TEXT NOT NULL CHECK (length(subject_id) = 26),
    data       TEXT NOT NULL CHECK (json_valid(data)),
    revision   INTEGER NOT NULL,
    by_label   TEXT NOT NULL,
    changed_at INTEGER NOT NULL,
    PRIMARY KEY (kind, subject_id)
) STRICT, WITHOUT ROWID;

-- A secret address of the calendar of a site; the secret is stored as its SHA-256.
CREATE TABLE calendar_token (
    id         TEXT NOT NULL PRIMARY KEY CHECK (length(id) = 26),
    site_id    TEXT NOT NULL REFERENCES site (id),
    token_hash TEXT NOT NULL UNIQUE,
    created_at INTEGER NOT NULL,
    created_by TEXT NOT NULL,
    revoked_at INTEGER
) STRICT;
CREATE INDEX calendar_token_site ON calendar_token (site_id);

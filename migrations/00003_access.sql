-- Who may do what, what waits for somebody, and what is kept for pages.

-- +goose Up
CREATE TABLE account (
    id              TEXT NOT NULL PRIMARY KEY CHECK (length(id) = 26),
    role            TEXT NOT NULL CHECK (role IN ('coordinator', 'keeper')), -- a class signs in as a device
    site_id         TEXT REFERENCES site (id),
    label           TEXT NOT NULL,
    passphrase_hash TEXT NOT NULL CHECK (passphrase_hash LIKE '$argon2id$%'),
    disabled        INTEGER NOT NULL DEFAULT 0 CHECK (disabled IN (0, 1)),
    created_at      INTEGER NOT NULL,
    revision        INTEGER NOT NULL DEFAULT 1,
    CHECK ((role = 'coordinator') = (site_id IS NULL))
) STRICT;

CREATE TABLE device (
    id              TEXT NOT NULL PRIMARY KEY CHECK (length(id) = 26),
    role            TEXT NOT NULL CHECK (role = 'class'),
    site_id         TEXT NOT NULL REFERENCES site (id),
    label           TEXT NOT NULL,
    pair_code_hash  TEXT UNIQUE, -- NULL once paired
    pair_expires_at INTEGER,
    token_hash      TEXT UNIQUE,
    paired_at       INTEGER,
    expires_at      INTEGER NOT NULL,
    revoked_at      INTEGER,
    created_at      INTEGER NOT NULL,
    created_by      TEXT NOT NULL,
    revoked_by TEXT NOT NULL DEFAULT '',
    last_entry_at INTEGER,
    paired_address TEXT NOT NULL DEFAULT ''
) STRICT;
CREATE INDEX device_site ON device (site_id);

CREATE TABLE api_token (
    id         TEXT NOT NULL PRIMARY KEY CHECK (length(id) = 26),
    token_hash TEXT NOT NULL UNIQUE,
    role       TEXT NOT NULL CHECK (role IN ('coordinator', 'keeper', 'class')),
    site_id    TEXT REFERENCES site (id),
    label      TEXT NOT NULL,
    expires_at INTEGER NOT NULL,
    revoked_at INTEGER,
    created_at INTEGER NOT NULL,
    CHECK (role = 'coordinator' OR site_id IS NOT NULL)
) STRICT;

CREATE TABLE session (
    token_hash TEXT NOT NULL PRIMARY KEY,
    data       BLOB NOT NULL,
    expires_at INTEGER NOT NULL
) STRICT, WITHOUT ROWID;
CREATE INDEX session_expires ON session (expires_at);

CREATE TABLE setup_draft (
    num        INTEGER PRIMARY KEY CHECK (num = 1),
    code_hash  TEXT NOT NULL,
    step       TEXT NOT NULL,
    data       TEXT NOT NULL CHECK (json_valid(data)),
    created_at INTEGER NOT NULL,
    changed_at INTEGER NOT NULL
) STRICT;

CREATE TABLE idempotency (
    actor       TEXT NOT NULL,
    key         TEXT NOT NULL,
    route       TEXT NOT NULL,
    fingerprint TEXT NOT NULL, -- SHA-256 of the payload, hex
    status      INTEGER NOT NULL,
    body        TEXT NOT NULL CHECK (json_valid(body)),
    created_at  INTEGER NOT NULL,
    PRIMARY KEY (actor, key)
) STRICT, WITHOUT ROWID;
CREATE INDEX idempotency_created ON idempotency (created_at);

CREATE TABLE guided_draft (
    kind       TEXT NOT NULL CHECK (kind IN ('release', 'delivery')),
    subject_id TEXT NOT NULL CHECK (length(subject_id) = 26),
    data       TEXT NOT NULL CHECK (json_valid(data)),
    revision   INTEGER NOT NULL,
    by_label   TEXT NOT NULL,
    changed_at INTEGER NOT NULL,
    PRIMARY KEY (kind, subject_id)
) STRICT, WITHOUT ROWID;

CREATE TABLE calendar_token (
    id         TEXT NOT NULL PRIMARY KEY CHECK (length(id) = 26),
    site_id    TEXT NOT NULL REFERENCES site (id),
    token_hash TEXT NOT NULL UNIQUE,
    created_at INTEGER NOT NULL,
    created_by TEXT NOT NULL,
    revoked_at INTEGER
) STRICT;
CREATE INDEX calendar_token_site ON calendar_token (site_id);

CREATE TABLE server_address (
    address TEXT NOT NULL PRIMARY KEY,
    seen_at INTEGER NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE board_view (
    id         TEXT NOT NULL PRIMARY KEY CHECK (length(id) = 26),
    name       TEXT NOT NULL CHECK (name <> ''),
    query      TEXT NOT NULL,
    created_at INTEGER NOT NULL,
    created_by TEXT NOT NULL,
    removed_at INTEGER,
    removed_by TEXT NOT NULL DEFAULT ''
) STRICT;
CREATE UNIQUE INDEX board_view_name ON board_view (name) WHERE removed_at IS NULL;

CREATE TABLE kept_post (
    id         TEXT NOT NULL PRIMARY KEY CHECK (length(id) = 26),
    owner      TEXT NOT NULL CHECK (owner <> ''),
    path       TEXT NOT NULL,
    body       TEXT NOT NULL,
    created_at INTEGER NOT NULL,
    expires_at INTEGER NOT NULL
) STRICT, WITHOUT ROWID;
CREATE INDEX kept_post_owner ON kept_post (owner, created_at);
CREATE INDEX kept_post_expires ON kept_post (expires_at);

CREATE TABLE known_browser (
    token_hash TEXT NOT NULL PRIMARY KEY,
    owner      TEXT NOT NULL CHECK (owner <> ''),
    created_at INTEGER NOT NULL,
    expires_at INTEGER NOT NULL
) STRICT, WITHOUT ROWID;
CREATE INDEX known_browser_owner ON known_browser (owner, created_at);
CREATE INDEX known_browser_expires ON known_browser (expires_at);

-- Who may sign in, and what keeps entries safe on the way. Secrets are stored
-- as hashes only; token_hash is SHA-256 in hex.

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

-- A tablet of a class. It starts as a short code that is paired once.
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
    created_by      TEXT NOT NULL
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

-- First start: the one-time code and what has been told so far.
CREATE TABLE setup_draft (
    num        INTEGER PRIMARY KEY CHECK (num = 1),
    code_hash  TEXT NOT NULL,
    step       TEXT NOT NULL,
    data       TEXT NOT NULL CHECK (json_valid(data)),
    created_at INTEGER NOT NULL,
    changed_at INTEGER NOT NULL
) STRICT;

-- Answers to creates that carried a key, so that the same entry sent again
-- changes nothing. Purged after 30 days.
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

-- An entry that arrived after the sign-in had ended, kept until the same
-- device signs in again.
CREATE TABLE kept_post (
    token_hash TEXT NOT NULL PRIMARY KEY,
    path       TEXT NOT NULL,
    body       TEXT NOT NULL,
    created_at INTEGER NOT NULL,
    expires_at INTEGER NOT NULL
) STRICT, WITHOUT ROWID;
CREATE INDEX kept_post_expires ON kept_post (expires_at);

-- What was sent after a sign-in had ended is kept for the account that had signed
-- in on that browser, or the class of that school, and for nobody else. Rows are
-- kept for a day, so that those without an owner are simply let go.

-- +goose Up
DROP TABLE kept_post;

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

-- A browser in which somebody signed in, by a random secret in its cookie. It
-- outlives the session and gives no right to anything.
CREATE TABLE known_browser (
    token_hash TEXT NOT NULL PRIMARY KEY,
    owner      TEXT NOT NULL CHECK (owner <> ''),
    created_at INTEGER NOT NULL,
    expires_at INTEGER NOT NULL
) STRICT, WITHOUT ROWID;
CREATE INDEX known_browser_owner ON known_browser (owner, created_at);
CREATE INDEX known_browser_expires ON known_browser (expires_at);

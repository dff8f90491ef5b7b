-- What the page of the tablets shows of each, and under which addresses the
-- server was reached, so that a change can be told.

-- +goose Up
ALTER TABLE device ADD COLUMN revoked_by TEXT NOT NULL DEFAULT '';
ALTER TABLE device ADD COLUMN last_entry_at INTEGER; -- of what it last sent; looking is not noted
ALTER TABLE device ADD COLUMN paired_address TEXT NOT NULL DEFAULT ''; -- host and port, as the tablet reaches the server

-- The addresses of the last start on a network, host and port.
CREATE TABLE server_address (
    address TEXT NOT NULL PRIMARY KEY,
    seen_at INTEGER NOT NULL
) STRICT, WITHOUT ROWID;

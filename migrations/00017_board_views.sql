-- Views of the board that coordinators keep under a name: the choice of filters
-- and grouping, as the query of its address. A view that is taken away is kept
-- with the day on which it went.

-- +goose Up
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

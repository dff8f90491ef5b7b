-- The old forms of one row are counted at each correction of it.

-- +goose Up
CREATE INDEX history_row ON history (row_id);

-- What a release departed from, and the stated reason; coordinates as they were
-- entered; what was measured at the stream; why one person counted alone.

-- +goose Up
ALTER TABLE event ADD COLUMN deviations TEXT NOT NULL DEFAULT ''; -- codes with spaces between
ALTER TABLE event ADD COLUMN deviation_why TEXT NOT NULL DEFAULT '';
ALTER TABLE release_record ADD COLUMN coordinates TEXT NOT NULL DEFAULT '';
ALTER TABLE release_record ADD COLUMN stream_oxygen_mg_l REAL;
ALTER TABLE release_record ADD COLUMN stream_ph REAL;
ALTER TABLE release_record ADD COLUMN bucket_ph REAL;
ALTER TABLE release_record ADD COLUMN reason_single TEXT NOT NULL DEFAULT '';
ALTER TABLE release_record ADD COLUMN deviations TEXT NOT NULL DEFAULT '';
ALTER TABLE release_record ADD COLUMN deviation_why TEXT NOT NULL DEFAULT '';

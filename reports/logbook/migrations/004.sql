-- Digests of the JSON of runs and trials, and how many trials a run was finished with, so
-- that what was changed or is gone can be told.
ALTER TABLE runs   ADD COLUMN sha256    TEXT   NOT NULL DEFAULT '';
ALTER TABLE runs   ADD COLUMN performed BIGINT NOT NULL DEFAULT 0;
ALTER TABLE trials ADD COLUMN sha256    TEXT   NOT NULL DEFAULT '';

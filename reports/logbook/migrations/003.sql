-- The order in which runs were entered. Their beginnings tell it only as long as no clock
-- is set back, as that of a small computer is which has no battery for it.
ALTER TABLE runs ADD COLUMN entered BIGINT NOT NULL DEFAULT 0;

UPDATE runs SET entered = (SELECT COUNT(*) FROM runs o WHERE o.began < runs.began OR o.began = runs.began AND o.id <= runs.id);

CREATE INDEX runs_by_entered ON runs (entered, began, id);

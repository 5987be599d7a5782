-- What runs are looked up by stands beside their JSON, filled in from it.
ALTER TABLE runs ADD COLUMN job      TEXT NOT NULL DEFAULT '';
ALTER TABLE runs ADD COLUMN board    TEXT NOT NULL DEFAULT '';
ALTER TABLE runs ADD COLUMN serial   TEXT NOT NULL DEFAULT '';
ALTER TABLE runs ADD COLUMN firmware TEXT NOT NULL DEFAULT '';
ALTER TABLE runs ADD COLUMN digest   TEXT NOT NULL DEFAULT '';

CREATE INDEX runs_by_controller ON runs (board, serial, firmware);
CREATE INDEX runs_by_job ON runs (job);

-- When a trial's trace was dropped to make room; 0 where it was not.
ALTER TABLE trials ADD COLUMN dropped BIGINT NOT NULL DEFAULT 0;

CREATE INDEX run_texts_by_text ON run_texts (sha256);

-- Runs that a certificate rests on. They are never dropped.
CREATE TABLE certified (
	run    TEXT   NOT NULL REFERENCES runs (id),
	signed BIGINT NOT NULL, -- when the certificate was made
	root   TEXT   NOT NULL, -- of the record's tree; empty where there is no record
	file   TEXT   NOT NULL,
	PRIMARY KEY (run, root, file)
);

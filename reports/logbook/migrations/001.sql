-- Instants are nanoseconds since 1970-01-01 UTC. Verdicts and states are the
-- numbers of rig/rule and of state.go. Digests are SHA-256 in hexadecimal.

CREATE TABLE texts (
	sha256 TEXT PRIMARY KEY,
	text   TEXT NOT NULL
);

CREATE TABLE traces (
	sha256 TEXT   PRIMARY KEY,
	size   BIGINT NOT NULL,
	data   BLOB   NOT NULL
);

CREATE TABLE runs (
	id      TEXT   PRIMARY KEY,
	began   BIGINT NOT NULL,
	ended   BIGINT NOT NULL, -- 0 while the run has no end
	state   BIGINT NOT NULL,
	alive   TEXT   NOT NULL, -- the file that the writing process holds locked
	verdict BIGINT NOT NULL,
	reason  TEXT   NOT NULL,
	run     TEXT   NOT NULL  -- JSON, without the trials and the texts of its files
);

CREATE INDEX runs_by_began ON runs (began, id);

CREATE TABLE run_texts (
	run    TEXT NOT NULL REFERENCES runs (id),
	sha256 TEXT NOT NULL REFERENCES texts (sha256),
	PRIMARY KEY (run, sha256)
);

CREATE TABLE trials (
	run      TEXT   NOT NULL REFERENCES runs (id),
	scenario TEXT   NOT NULL,
	number   BIGINT NOT NULL,
	verdict  BIGINT NOT NULL,
	trace    TEXT   REFERENCES traces (sha256),
	trial    TEXT   NOT NULL, -- JSON
	PRIMARY KEY (run, scenario, number)
);

CREATE INDEX trials_by_trace ON trials (trace);

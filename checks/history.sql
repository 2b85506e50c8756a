-- What people and checks did with flags and batches. Rows are only ever added; a check never makes these tables anew.
CREATE SCHEMA IF NOT EXISTS history;

CREATE TABLE IF NOT EXISTS history.flag_events (
    event       INTEGER NOT NULL,
    flag        VARCHAR NOT NULL,
    happened    VARCHAR NOT NULL,       -- opened, changed, reopened, explained, accepted, amended away, gone
    happened_at TIMESTAMP NOT NULL,     -- UTC
    rule        VARCHAR NOT NULL, record VARCHAR NOT NULL,
    run VARCHAR, lot VARCHAR, batch VARCHAR,
    answer      VARCHAR NOT NULL, severity VARCHAR NOT NULL,
    value       VARCHAR, limits VARCHAR,            -- as shown when it happened
    person      VARCHAR, role VARCHAR,  -- who explained or accepted, and as what
    reason      VARCHAR,                -- theirs; or which amendments took the flag away
    attachment  VARCHAR, attachment_sha256 VARCHAR  -- name of the file, and its copy in the book's folder attachments
);

CREATE TABLE IF NOT EXISTS history.decisions (
    decision    INTEGER NOT NULL,
    batch       VARCHAR NOT NULL,
    verdict     VARCHAR NOT NULL,       -- released, held, rejected
    person      VARCHAR NOT NULL, role VARCHAR NOT NULL,
    reason      VARCHAR NOT NULL,
    overruled   VARCHAR[] NOT NULL,     -- flags that stood in the way of the release
    decided_at  TIMESTAMP NOT NULL,     -- UTC
    evidence_sha256 VARCHAR NOT NULL,   -- SHA-256 of the evidence
    evidence    VARCHAR NOT NULL,       -- what the decision rested on, as canonical JSON (RFC 8785)
    data_parts  VARCHAR NOT NULL        -- digest of each part of the data, as JSON: tells later what has changed
);

CREATE OR REPLACE VIEW history.flag_states AS       -- one row a flag that ever was: its last event
SELECT
    CASE WHEN happened IN ('opened', 'changed', 'reopened') THEN 'open' ELSE happened END AS state, events.*
FROM history.flag_events AS events
QUALIFY row_number() OVER (PARTITION BY flag ORDER BY event DESC) = 1;

CREATE OR REPLACE VIEW history.verdicts AS          -- one row a batch that was decided on: the decision in force
FROM history.decisions
QUALIFY row_number() OVER (PARTITION BY batch ORDER BY decision DESC) = 1;

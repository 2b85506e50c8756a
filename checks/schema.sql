-- What the rules answered. Every answer but "within" is a flag. Made anew by each check.
CREATE SCHEMA IF NOT EXISTS flagged;

CREATE OR REPLACE TABLE flagged.flags (
    flag        VARCHAR NOT NULL,       -- stable short name made from rule and record
    rule        VARCHAR NOT NULL,
    subject     VARCHAR NOT NULL,       -- the frame that the rule looked at: runs, gauges, lots, laboratory, batches ...
    record      VARCHAR NOT NULL,       -- the record in words: "run STR-2510-03", "batch VOD-2511A, methanol"
    run         VARCHAR, lot VARCHAR, batch VARCHAR, equipment VARCHAR,     -- what it hangs on, where known
    answer      VARCHAR NOT NULL,       -- doubtful, out, not evaluated
    severity    VARCHAR NOT NULL,       -- stops release, needs explanation, for information
    quantity    VARCHAR NOT NULL,       -- what was compared, in words
    value       VARCHAR,                -- as shown, rounded by its uncertainty; NULL where not evaluated
    limits      VARCHAR,                -- as shown: "37.5 or more", "0.93 to 1.01"
    unit        VARCHAR,
    message     VARCHAR NOT NULL,       -- one sentence in plain words
    reason      VARCHAR NOT NULL,       -- why the rule exists
    citation    VARCHAR NOT NULL,       -- article, table, standard, house limit, or common practice
    source_id   INTEGER, line INTEGER   -- where the value was read, where one row can be named
);

CREATE OR REPLACE TABLE flagged.batch_flags (   -- which flags stand before which batch, by its lineage
    batch VARCHAR NOT NULL, flag VARCHAR NOT NULL
);

CREATE OR REPLACE TABLE flagged.rule_counts (   -- a rule that looked at nothing must say so
    rule VARCHAR NOT NULL, subject VARCHAR NOT NULL, records INTEGER NOT NULL,
    within INTEGER NOT NULL, doubtful INTEGER NOT NULL, out INTEGER NOT NULL, not_evaluated INTEGER NOT NULL
);

CREATE OR REPLACE TABLE flagged.standings (     -- one row a batch
    batch VARCHAR NOT NULL, product VARCHAR NOT NULL, bottled_at TIMESTAMP,
    standing VARCHAR NOT NULL,          -- clear, to explain, stopped
    stops_release INTEGER NOT NULL,     -- flags before the batch
    needs_explanation INTEGER NOT NULL, -- of these, those still open
    for_information INTEGER NOT NULL
);

CREATE OR REPLACE TABLE flagged.rules (         -- the rules in force when the flags were made, as a reader sees them
    rule VARCHAR NOT NULL, subject VARCHAR NOT NULL,
    quantity    VARCHAR NOT NULL,       -- what is compared, with the places of the record's own names left open
    compared    VARCHAR NOT NULL,       -- with what
    unit        VARCHAR,
    severity    VARCHAR NOT NULL,       -- of the answer "out"
    citation    VARCHAR NOT NULL,
    by_house    BOOLEAN NOT NULL,       -- changed or made by the house profile
    of_law      BOOLEAN NOT NULL,
    softened    VARCHAR,                -- of a rule of law that the house profile lowered: below the law, eased
    softened_by VARCHAR                 -- what it changed: "severity: stops release -> for information"
);

-- What was judged before, by the values that it rests on. A memory and no record: it may be dropped at any time, and the
-- next check judges everything anew.
CREATE SCHEMA IF NOT EXISTS eval_cache;

CREATE TABLE IF NOT EXISTS eval_cache.rows (
    subject VARCHAR NOT NULL,
    suite   VARCHAR NOT NULL,           -- the subject's rules as they were
    key_1   UBIGINT NOT NULL, key_2 UBIGINT NOT NULL
);

CREATE TABLE IF NOT EXISTS eval_cache.answers (         -- a row judged and not here is within
    subject VARCHAR NOT NULL, suite VARCHAR NOT NULL, key_1 UBIGINT NOT NULL, key_2 UBIGINT NOT NULL,
    rule    VARCHAR NOT NULL,
    answer  VARCHAR NOT NULL            -- out or doubtful
);

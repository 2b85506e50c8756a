-- The chain of what was received, amended, checked, explained, decided and made. Rows are only ever added, each in the
-- transaction of what it records; pipeline/book/register.py alone writes them.
CREATE SCHEMA IF NOT EXISTS register;

CREATE TABLE IF NOT EXISTS register.entries (
    number         INTEGER NOT NULL,    -- 1, 2, 3 ...
    entered_at     TIMESTAMP NOT NULL,  -- UTC
    kind           VARCHAR NOT NULL,    -- file received, amendment, decision, document ...
    subject        VARCHAR NOT NULL,    -- what it is about, in words
    payload        VARCHAR NOT NULL,    -- what it says, as canonical JSON (RFC 8785)
    payload_sha256 VARCHAR NOT NULL,
    before_sha256  VARCHAR NOT NULL,    -- own_sha256 of the entry before; of the first: sixty-four zeros
    own_sha256     VARCHAR NOT NULL     -- of the canonical JSON of number, entered_at, kind, subject and the two hashes above
);

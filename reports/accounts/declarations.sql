-- The account of a month as it was declared. Rows are only ever added; the last one of a month is in force.
CREATE SCHEMA IF NOT EXISTS history;

CREATE TABLE IF NOT EXISTS history.declarations (
    declaration INTEGER NOT NULL,
    month       DATE NOT NULL,
    declared_at TIMESTAMP NOT NULL,     -- UTC
    person      VARCHAR NOT NULL, role VARCHAR NOT NULL,
    data_sha256 VARCHAR NOT NULL,       -- SHA-256 of the data
    data        VARCHAR NOT NULL        -- of the account as it was then, canonical JSON (RFC 8785)
);

-- The files as they came, and the settings under which they were read. Rows are only ever added.
CREATE SCHEMA IF NOT EXISTS received;

CREATE TABLE IF NOT EXISTS received.files (
    file_id     INTEGER NOT NULL,
    sha256      VARCHAR NOT NULL,       -- of the bytes; the kept copy stands under this name
    name        VARCHAR NOT NULL,       -- the file's own name
    origin      VARCHAR NOT NULL,       -- the folder it was taken from, as it was given
    size_bytes  BIGINT NOT NULL,
    map         VARCHAR NOT NULL,       -- the source map that read it
    map_sha256  VARCHAR NOT NULL,       -- its edition
    received_at TIMESTAMP NOT NULL,
    received_by VARCHAR NOT NULL,
    times_read  INTEGER NOT NULL        -- 1, and one more each time it was read anew under mended settings
);

CREATE TABLE IF NOT EXISTS received.refused_files (     -- files that could not be read at all, until they can be
    sha256      VARCHAR,                -- NULL where not even the bytes could be read
    name        VARCHAR NOT NULL,
    origin      VARCHAR NOT NULL,
    code        VARCHAR NOT NULL,
    reason      VARCHAR NOT NULL
);

CREATE TABLE IF NOT EXISTS received.maps (     -- each edition of a source map that ever read a file
    map         VARCHAR NOT NULL,
    sha256      VARCHAR NOT NULL,
    text        VARCHAR NOT NULL
);

CREATE TABLE IF NOT EXISTS received.houses (   -- each edition of the house profile; the last one is in force
    edition     INTEGER NOT NULL,
    sha256      VARCHAR NOT NULL,
    origin      VARCHAR NOT NULL,       -- the file it was read from
    text        VARCHAR NOT NULL
);

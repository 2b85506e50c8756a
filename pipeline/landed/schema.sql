-- Rows as they stand in the files: text, with the line (or sheet and row) they stand on.
CREATE SCHEMA IF NOT EXISTS landed;

CREATE TABLE IF NOT EXISTS landed.sources (     -- a text file, or one sheet of a workbook
    source_id   INTEGER NOT NULL,
    file_id     INTEGER NOT NULL,
    sheet       VARCHAR,                -- NULL for text files
    header_line INTEGER NOT NULL,
    header      VARCHAR[] NOT NULL
);

CREATE TABLE IF NOT EXISTS landed.rows (        -- rows below the header, but for those of logs, which the kept file holds
    source_id   INTEGER NOT NULL,
    line        INTEGER NOT NULL,
    cells       VARCHAR[] NOT NULL
);

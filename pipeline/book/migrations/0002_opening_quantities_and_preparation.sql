-- What comes in is stated with its strength or in pure alcohol; the opening inventory is a kind of its own; bottles and
-- packaging are drawn by number.
ALTER TABLE typed.intake ADD COLUMN IF NOT EXISTS alcohol_l DOUBLE;
ALTER TABLE typed.intake ADD COLUMN IF NOT EXISTS vessel VARCHAR;
ALTER TABLE typed.intake ADD COLUMN IF NOT EXISTS volume_temperature_c DOUBLE;
ALTER TABLE typed.intake ADD COLUMN IF NOT EXISTS strength_reading DOUBLE;
ALTER TABLE typed.intake ADD COLUMN IF NOT EXISTS reading_kind VARCHAR;
ALTER TABLE typed.intake ADD COLUMN IF NOT EXISTS reading_temperature_c DOUBLE;
ALTER TABLE typed.intake ADD COLUMN IF NOT EXISTS instrument VARCHAR;
ALTER TABLE typed.intake ADD COLUMN IF NOT EXISTS preparation VARCHAR;
ALTER TABLE typed.movements ADD COLUMN IF NOT EXISTS pieces DOUBLE;
CREATE TABLE IF NOT EXISTS typed.opening_stock (
    lot                    VARCHAR NOT NULL,
    material               VARCHAR NOT NULL,
    kind                   VARCHAR NOT NULL,
    vessel                 VARCHAR,
    counted_at             TIMESTAMP NOT NULL,
    volume_at_t_l          DOUBLE,
    volume_temperature_c   DOUBLE,
    strength_reading       DOUBLE,
    reading_kind           VARCHAR,
    reading_temperature_c  DOUBLE,
    instrument             VARCHAR,
    preparation            VARCHAR,
    mass_kg                DOUBLE,
    alcohol_l              DOUBLE,
    pieces                 DOUBLE,
    nominal_ml             DOUBLE,
    label_strength_pct_vol DOUBLE,
    aged_from              TIMESTAMP,
    extract_pct            DOUBLE,
    moisture_pct           DOUBLE,
    condition              VARCHAR,
    counted_by             VARCHAR,
    source_id              INTEGER NOT NULL,
    line                   INTEGER NOT NULL
);
-- Whether a sample was distilled before its strength was read; of older records nobody said.
ALTER TABLE typed.movements ADD COLUMN IF NOT EXISTS preparation VARCHAR;
ALTER TABLE typed.stock ADD COLUMN IF NOT EXISTS preparation VARCHAR;
ALTER TABLE typed.laboratory ADD COLUMN IF NOT EXISTS preparation VARCHAR;

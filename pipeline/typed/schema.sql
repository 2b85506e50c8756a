-- One table a record kind. SI and % vol at 20 °C inside; times in UTC. Every row carries the source (a file, or one sheet of it: landed.sources) and line
-- that it was read from; a field that was blank is NULL, never zero.
CREATE SCHEMA IF NOT EXISTS typed;

CREATE TABLE IF NOT EXISTS typed.intake (           -- what came to the house
    lot             VARCHAR NOT NULL,
    material        VARCHAR NOT NULL,               -- the name that recipes use: rye malt, juniper berry ...
    kind            VARCHAR NOT NULL,               -- malt, adjunct, fruit, sugar, yeast, botanical, sweetening, neutral spirit, spirit, wash, water,
                                                    -- packaging
    supplier        VARCHAR,
    received_at     TIMESTAMP NOT NULL,
    quantity_kg     DOUBLE,                         -- one of kg, L, pieces and LPA is filled
    quantity_l      DOUBLE,
    quantity_pieces DOUBLE,
    alcohol_l       DOUBLE,                         -- LPA, where the delivery is stated in pure alcohol or proof gallons
    vessel          VARCHAR,                        -- what it was put into
    volume_temperature_c  DOUBLE,                   -- of quantity_l; blank: 20 °C, with a US proof 60 °F
    strength_reading      DOUBLE,                   -- these as in typed.movements
    reading_kind          VARCHAR,
    reading_temperature_c DOUBLE,
    instrument            VARCHAR,
    preparation           VARCHAR,
    extract_pct     DOUBLE,                         -- extract on dry matter [% mass], from the certificate
    moisture_pct    DOUBLE,                         -- [% mass]
    fermentability_pct DOUBLE,                      -- share of the extract that ferments [%], from the certificate
    original_gravity DOUBLE, final_gravity DOUBLE,  -- of the laboratory's wort of the lot and at its end, SG 20/20: the same
    brix DOUBLE, purity_pct DOUBLE,                 -- soluble solids [% mass], and sucrose in them [%]
    sugar_free_extract_g_l DOUBLE,                  -- of a must: dissolved and no sugar [g/L]
    potential_alcohol_pct_vol DOUBLE,               -- of a must [% vol]
    total_sugars_pct DOUBLE,                        -- as invert sugar, with the sucrose [% mass as received]
    reducing_sugars_pct DOUBLE, sucrose_pct DOUBLE, lactose_pct DOUBLE, starch_pct DOUBLE, fructan_pct DOUBLE,   -- the same
    sugar_g_l DOUBLE,                               -- as invert sugar in a litre of juice [g/L]
    juice_l_per_100kg DOUBLE,                       -- of fruit: juice that is pressed of 100 kg [L]
    condition       VARCHAR,                        -- fresh or dried
    best_before     TIMESTAMP,
    source_id       INTEGER NOT NULL,
    line            INTEGER NOT NULL
);

CREATE TABLE IF NOT EXISTS typed.opening_stock (    -- what the house held when the book was begun, one row a lot and vessel
    lot                    VARCHAR NOT NULL,
    material               VARCHAR NOT NULL,
    kind                   VARCHAR NOT NULL,        -- as of intake, or bottled spirit
    vessel                 VARCHAR,                 -- tank or cask; NULL in a store
    counted_at             TIMESTAMP NOT NULL,
    volume_at_t_l          DOUBLE,                  -- one of L, kg, LPA and pieces is filled
    volume_temperature_c   DOUBLE,                  -- blank: 20 °C, with a US proof 60 °F
    strength_reading       DOUBLE,                  -- these as in typed.movements
    reading_kind           VARCHAR,
    reading_temperature_c  DOUBLE,
    instrument             VARCHAR,
    preparation            VARCHAR,
    mass_kg                DOUBLE,
    alcohol_l              DOUBLE,                  -- LPA
    pieces                 DOUBLE,                  -- bottles or packaging
    nominal_ml             DOUBLE,                  -- of a bottle
    label_strength_pct_vol DOUBLE,
    aged_from              TIMESTAMP,               -- day from which its age counts
    extract_pct            DOUBLE,                  -- of grain, as of intake
    moisture_pct           DOUBLE,
    fermentability_pct DOUBLE, original_gravity DOUBLE, final_gravity DOUBLE, brix DOUBLE, purity_pct DOUBLE,   -- these too
    sugar_free_extract_g_l DOUBLE, potential_alcohol_pct_vol DOUBLE, total_sugars_pct DOUBLE, reducing_sugars_pct DOUBLE,
    sucrose_pct DOUBLE, lactose_pct DOUBLE, starch_pct DOUBLE, fructan_pct DOUBLE, sugar_g_l DOUBLE, juice_l_per_100kg DOUBLE,
    condition              VARCHAR,
    counted_by             VARCHAR,
    source_id              INTEGER NOT NULL,
    line                   INTEGER NOT NULL
);

CREATE TABLE IF NOT EXISTS typed.runs (             -- one working of one piece of equipment
    run             VARCHAR NOT NULL,
    stage           VARCHAR NOT NULL,               -- mash, ferment, strip, rectify, botanical, steep, filter, blend, reduce, bottle
    equipment       VARCHAR NOT NULL,
    product         VARCHAR,                        -- code of the product in the house profile; NULL before it is decided
    recipe          VARCHAR,                        -- name of the recipe in the house profile
    started_at      TIMESTAMP NOT NULL,
    ended_at        TIMESTAMP,                      -- NULL while it runs
    operator        VARCHAR,
    hearts_from     TIMESTAMP,                      -- cut times on the run sheet, stills only
    hearts_to       TIMESTAMP,
    source_id       INTEGER NOT NULL,
    line            INTEGER NOT NULL
);

CREATE TABLE IF NOT EXISTS typed.movements (        -- a lot into or out of a run, as it was gauged
    run                   VARCHAR NOT NULL,
    direction             VARCHAR NOT NULL,         -- in or out
    lot                   VARCHAR NOT NULL,
    part                  VARCHAR NOT NULL,         -- grain, fruit, sugar, yeast, water, wort, wash, foreshots, heads, hearts, tails,
                                                    -- feints, spent, spirit, botanical, sweetening, liquid, bottles, packaging
    vessel                VARCHAR,
    gauged_at             TIMESTAMP,
    volume_at_t_l         DOUBLE,                   -- as read, at volume_temperature_c [L]
    volume_temperature_c  DOUBLE,
    strength_reading      DOUBLE,                   -- as read, in the unit that reading_kind implies
    reading_kind          VARCHAR,                  -- alcoholmeter [% vol scale at 20 °C, soda-lime glass], density [kg/m3],
                                                    -- pct_vol_20c [% vol, already at 20 °C], us_proof_60f [US proof, at 60 °F],
                                                    -- us_proof_hydrometer [US proof as a glass hydrometer shows it at the reading temperature]
    reading_temperature_c DOUBLE,
    mass_kg               DOUBLE,                   -- weighed in air
    pieces                DOUBLE,                   -- bottles or packaging, counted
    instrument            VARCHAR,                  -- what read the strength, as named in the house profile
    preparation           VARCHAR,                  -- direct, or distilled: strength of the distillate; NULL where it was not said
    source_id             INTEGER NOT NULL,
    line                  INTEGER NOT NULL
);

-- The logs lie in Parquet files beside the book, one row an instant and one column a tag. pipeline/typed/log_store.py
-- shows them as the views typed.log_rows (equipment, read_at, source_id, line, one column a tag) and typed.readings
-- (equipment, read_at, tag, value, source_id, line: one value a row). Tags: pipeline/typed/readings.py.
CREATE TABLE IF NOT EXISTS typed.log_files (        -- only files named here are part of the book
    source_id       INTEGER NOT NULL,
    file            VARCHAR NOT NULL                -- below the book's folder
);

CREATE TABLE IF NOT EXISTS typed.log_blocks (       -- stretches of a log with less than 90 minutes of silence
    source_id       INTEGER NOT NULL,
    equipment       VARCHAR NOT NULL,
    first_at        TIMESTAMP NOT NULL,
    last_at         TIMESTAMP NOT NULL
);

CREATE TABLE IF NOT EXISTS typed.laboratory (
    sample          VARCHAR NOT NULL,
    lot             VARCHAR NOT NULL,
    taken_at        TIMESTAMP,
    measured_at     TIMESTAMP,
    analyte         VARCHAR NOT NULL,               -- strength, density, specific_gravity, methanol, acetaldehyde, ethyl_acetate, propanol,
                                                    -- isobutanol, isoamyl_alcohol, furfural, ph, dry_extract, turbidity ...
    value           DOUBLE NOT NULL,
    below_limit     BOOLEAN NOT NULL,               -- written as "<0.5": value is then the limit of quantification
    unit            VARCHAR NOT NULL,               -- pct_vol, kg/m3, sg, g/hL pa (grams per hectolitre of pure alcohol), mg/L, g/L, ph, ntu
    temperature_c   DOUBLE,                         -- of the sample when it was measured, where that matters
    method          VARCHAR,
    preparation     VARCHAR,                        -- direct, or distilled: measured on the distillate; NULL where it was not said
    instrument      VARCHAR,
    analyst         VARCHAR,
    replicate       INTEGER,
    source_id       INTEGER NOT NULL,
    line            INTEGER NOT NULL
);

CREATE TABLE IF NOT EXISTS typed.bottling (         -- one row a bottled lot; the lot is the batch
    lot                    VARCHAR NOT NULL,
    run                    VARCHAR NOT NULL,
    product                VARCHAR NOT NULL,
    bottled_at             TIMESTAMP NOT NULL,
    nominal_ml             DOUBLE NOT NULL,
    label_strength_pct_vol DOUBLE NOT NULL,         -- as the label states it: % vol at 20 °C, in the United States at 60 °F
    label_age_years        DOUBLE,                  -- age that the label states; NULL: it states none, or the record does not say
    bottles_filled         INTEGER NOT NULL,
    bottles_rejected       INTEGER NOT NULL,
    operator               VARCHAR,
    source_id              INTEGER NOT NULL,
    line                   INTEGER NOT NULL
);

CREATE TABLE IF NOT EXISTS typed.fills (            -- sampled net contents of a bottled lot
    lot             VARCHAR NOT NULL,
    sample_no       INTEGER NOT NULL,
    measured_at     TIMESTAMP,
    net_content_ml  DOUBLE NOT NULL,
    content_temperature_c DOUBLE,               -- at which the content is that volume; NULL: 20 °C
    instrument      VARCHAR,
    source_id       INTEGER NOT NULL,
    line            INTEGER NOT NULL
);

CREATE TABLE IF NOT EXISTS typed.panel (            -- sensory sessions
    session         VARCHAR NOT NULL,
    lot             VARCHAR NOT NULL,
    reference_lot   VARCHAR NOT NULL,
    held_at         TIMESTAMP,
    test            VARCHAR NOT NULL,               -- triangle, paired, duo-trio
    assessors       INTEGER NOT NULL,
    correct_answers INTEGER NOT NULL,
    source_id       INTEGER NOT NULL,
    line            INTEGER NOT NULL
);

CREATE TABLE IF NOT EXISTS typed.calibrations (
    instrument      VARCHAR NOT NULL,
    checked_at      TIMESTAMP NOT NULL,
    reference_value DOUBLE NOT NULL,
    reading         DOUBLE NOT NULL,
    unit            VARCHAR NOT NULL,
    due_at          TIMESTAMP,
    source_id       INTEGER NOT NULL,
    line            INTEGER NOT NULL
);

CREATE TABLE IF NOT EXISTS typed.stock (            -- month-end dips and other gauges of a vessel at rest
    vessel                VARCHAR NOT NULL,
    lot                   VARCHAR NOT NULL,
    gauged_at             TIMESTAMP NOT NULL,
    volume_at_t_l         DOUBLE NOT NULL,
    volume_temperature_c  DOUBLE,
    strength_reading      DOUBLE,
    reading_kind          VARCHAR,
    reading_temperature_c DOUBLE,
    instrument            VARCHAR,
    preparation           VARCHAR,                  -- as in typed.movements
    source_id             INTEGER NOT NULL,
    line                  INTEGER NOT NULL
);

CREATE TABLE IF NOT EXISTS typed.casks (   -- the register of casks
    cask             VARCHAR NOT NULL,  -- its number
    nominal_l        DOUBLE,            -- size
    wood             VARCHAR,           -- american oak, european oak, oak, acacia, cherry, chestnut, other
    treatment        VARCHAR,           -- charred, toasted, charred and toasted, none
    char_level       INTEGER,
    former_contents  VARCHAR,           -- "new": it never held anything
    cooperage        VARCHAR,           -- code of who made it
    tare_kg          DOUBLE,            -- empty
    location         VARCHAR,
    position         VARCHAR,           -- row, tier, rack: where in it
    source_id        INTEGER NOT NULL,
    line             INTEGER NOT NULL
);

CREATE TABLE IF NOT EXISTS typed.cask_events (   -- what befell a cask
    cask                   VARCHAR NOT NULL,
    event                  VARCHAR NOT NULL,  -- filled, regauged, drawn, emptied, sampled, lost, moved
    happened_at            TIMESTAMP NOT NULL,
    run                    VARCHAR,           -- that filled, drew or emptied it
    lot                    VARCHAR,           -- what it was filled from, or emptied into
    other_cask             VARCHAR,           -- from cask to cask: the other one
    volume_at_t_l          DOUBLE,            -- one of L, gross kg, net kg and LPA at most
    volume_temperature_c   DOUBLE,
    strength_reading       DOUBLE,
    reading_kind           VARCHAR,
    reading_temperature_c  DOUBLE,
    instrument             VARCHAR,
    preparation            VARCHAR,
    gross_kg               DOUBLE,
    tare_kg                DOUBLE,            -- as weighed then; blank: of the register
    mass_kg                DOUBLE,
    alcohol_l              DOUBLE,
    rinse_l                DOUBLE,            -- water with which an emptied cask was rinsed into the spirit
    location               VARCHAR,           -- where it was moved to
    position               VARCHAR,           -- row, tier, rack: where in it
    reason                 VARCHAR,
    document               VARCHAR,           -- serial number of the gauge record
    person                 VARCHAR,
    source_id              INTEGER NOT NULL,
    line                   INTEGER NOT NULL
);

CREATE TABLE IF NOT EXISTS typed.dispatches (   -- what left the house
    lot                    VARCHAR NOT NULL,  -- bottled batch, or bulk
    dispatched_at          TIMESTAMP NOT NULL,
    volume_at_t_l          DOUBLE,            -- one of L, kg, LPA and pieces is filled
    volume_temperature_c   DOUBLE,
    strength_reading       DOUBLE,
    reading_kind           VARCHAR,
    reading_temperature_c  DOUBLE,
    instrument             VARCHAR,
    preparation            VARCHAR,
    mass_kg                DOUBLE,
    alcohol_l              DOUBLE,
    pieces                 DOUBLE,
    vessel                 VARCHAR,           -- of bulk: what it was drawn from
    customer               VARCHAR,           -- as a code
    duty_status            VARCHAR,           -- duty paid, in bond, export, duty free, other
    document               VARCHAR,
    person                 VARCHAR,
    source_id              INTEGER NOT NULL,
    line                   INTEGER NOT NULL
);

CREATE TABLE IF NOT EXISTS typed.returns (   -- what came back
    lot                    VARCHAR NOT NULL,
    returned_at            TIMESTAMP NOT NULL,
    volume_at_t_l          DOUBLE,            -- one of L, kg, LPA and pieces is filled
    volume_temperature_c   DOUBLE,
    strength_reading       DOUBLE,
    reading_kind           VARCHAR,
    reading_temperature_c  DOUBLE,
    instrument             VARCHAR,
    preparation            VARCHAR,
    mass_kg                DOUBLE,
    alcohol_l              DOUBLE,
    pieces                 DOUBLE,
    vessel                 VARCHAR,           -- of bulk: what it was put into
    customer               VARCHAR,
    duty_status            VARCHAR,
    document               VARCHAR,           -- of the return itself
    dispatch_document      VARCHAR,           -- by which it had left
    reason                 VARCHAR,
    person                 VARCHAR,
    source_id              INTEGER NOT NULL,
    line                   INTEGER NOT NULL
);

CREATE TABLE IF NOT EXISTS typed.samples (   -- taken out of the account
    lot                    VARCHAR NOT NULL,
    taken_at               TIMESTAMP NOT NULL,
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
    vessel                 VARCHAR,           -- tank or cask
    purpose                VARCHAR,
    recipient              VARCHAR,
    document               VARCHAR,
    person                 VARCHAR,
    source_id              INTEGER NOT NULL,
    line                   INTEGER NOT NULL
);

CREATE TABLE IF NOT EXISTS typed.destructions (   -- what was destroyed
    lot                    VARCHAR NOT NULL,
    destroyed_at           TIMESTAMP NOT NULL,
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
    vessel                 VARCHAR,
    reason                 VARCHAR,
    witness                VARCHAR,           -- who saw it
    document               VARCHAR,
    person                 VARCHAR,
    source_id              INTEGER NOT NULL,
    line                   INTEGER NOT NULL
);

CREATE TABLE IF NOT EXISTS typed.inventory (   -- what was found when the house was counted
    counted_at             TIMESTAMP NOT NULL,
    container              VARCHAR NOT NULL,  -- tank, cask, cased goods
    vessel                 VARCHAR,           -- tank or cask
    lot                    VARCHAR,
    volume_at_t_l          DOUBLE,
    volume_temperature_c   DOUBLE,
    strength_reading       DOUBLE,
    reading_kind           VARCHAR,
    reading_temperature_c  DOUBLE,
    instrument             VARCHAR,
    preparation            VARCHAR,
    mass_kg                DOUBLE,
    alcohol_l              DOUBLE,
    pieces                 DOUBLE,            -- bottles
    gross_kg               DOUBLE,            -- of a weighed cask
    location               VARCHAR,
    counted_by             VARCHAR,
    source_id              INTEGER NOT NULL,
    line                   INTEGER NOT NULL
);

CREATE TABLE IF NOT EXISTS typed.refused (          -- every row that did not become a record, with the reason
    source_id       INTEGER NOT NULL,
    line            INTEGER NOT NULL,
    code            VARCHAR NOT NULL,               -- stable name of the kind of fault, apart from its wording
    column_name     VARCHAR,
    value           VARCHAR,
    expected        VARCHAR NOT NULL,
    to_do           VARCHAR NOT NULL,
    raw             VARCHAR NOT NULL                -- the whole row as text
);

CREATE TABLE IF NOT EXISTS typed.row_counts (       -- rows_in = kept + held + refused + passed_over
    source_id       INTEGER NOT NULL,
    section         INTEGER NOT NULL,               -- number of the [[records]] section of the source map
    kind            VARCHAR NOT NULL,
    rows_in         INTEGER NOT NULL,
    kept            INTEGER NOT NULL,
    held            INTEGER NOT NULL,               -- already in the book, value for value
    refused         INTEGER NOT NULL,
    passed_over     INTEGER NOT NULL                -- left out by the map's own row filter, or holding no value
);

CREATE TABLE IF NOT EXISTS typed.amendments (       -- rows are only ever added; the last one of a field is in force
    amendment       INTEGER NOT NULL,
    kind            VARCHAR NOT NULL,
    record          VARCHAR NOT NULL,               -- natural key as people read it; never taken apart
    record_key      JSON,                           -- natural key: {field: value as text, or null}; NULL where an older edition did not say which part was which
    source_id       INTEGER NOT NULL,
    line            INTEGER NOT NULL,
    field           VARCHAR NOT NULL,
    old_value       VARCHAR,
    new_value       VARCHAR,
    person          VARCHAR NOT NULL,
    reason          VARCHAR NOT NULL,
    amended_at      TIMESTAMP NOT NULL
);

-- What befell casks, and with it all runs, movements and gauges at rest: those written down as such, and those of casks.
CREATE SCHEMA IF NOT EXISTS derived;

CREATE OR REPLACE TABLE derived.cask_events (       -- typed.cask_events, each with the filling that it belongs to
    cask VARCHAR, event VARCHAR, happened_at TIMESTAMP,
    run               VARCHAR,                      -- as recorded, else made up of what and when; NULL of a cask at rest
    lot               VARCHAR,                      -- what it was filled from, a cask's contents included; emptied: what it was put into
    other_cask VARCHAR,
    filling           BIGINT,                       -- the N-th time that it was filled from empty
    contents          VARCHAR,                      -- the lot that this filling is: CASK/N
    volume_at_t_l DOUBLE, volume_temperature_c DOUBLE, strength_reading DOUBLE, reading_kind VARCHAR, reading_temperature_c DOUBLE,
    instrument VARCHAR, preparation VARCHAR, gross_kg DOUBLE, tare_kg DOUBLE, mass_kg DOUBLE,
    net_kg            DOUBLE,                       -- as recorded, else gross less the tare of that day or of the register
    alcohol_l DOUBLE, rinse_l DOUBLE, location VARCHAR, position VARCHAR, reason VARCHAR, document VARCHAR, person VARCHAR, source_id INTEGER, line INTEGER
);

-- Every cask: those of the register, and those that only an event tells of.
-- made from: typed.casks, typed.cask_events
CREATE OR REPLACE VIEW derived.casks AS
SELECT cask FROM typed.casks UNION SELECT cask FROM typed.cask_events;

-- Where a cask lay, a row a stay: from when on (NULL: from the first, as the register of casks has it). Casks of one location
-- are compared and accounted for together; its position there is for finding it, and holds until it is told anew or the cask
-- goes elsewhere.
-- made from: typed.casks, typed.cask_events
CREATE OR REPLACE VIEW derived.cask_places AS
WITH stays AS (
    SELECT cask, NULL::TIMESTAMP AS from_at, location, position FROM typed.casks
    UNION ALL
    SELECT cask, happened_at, location, position FROM typed.cask_events WHERE location IS NOT NULL OR position IS NOT NULL
    QUALIFY row_number() OVER (PARTITION BY cask, happened_at ORDER BY location DESC NULLS LAST, position DESC NULLS LAST) = 1
),
located AS (
    SELECT cask, from_at, last_value(location IGNORE NULLS) OVER (PARTITION BY cask ORDER BY from_at NULLS FIRST) AS location, position
    FROM stays
),
moved AS (
    SELECT *, location IS DISTINCT FROM lag(location) OVER (PARTITION BY cask ORDER BY from_at NULLS FIRST) AS is_elsewhere FROM located
),
visits AS (
    SELECT *, count(*) FILTER (is_elsewhere) OVER (PARTITION BY cask ORDER BY from_at NULLS FIRST) AS visit FROM moved
)
SELECT cask, from_at, location, last_value(position IGNORE NULLS) OVER (PARTITION BY cask, visit ORDER BY from_at NULLS FIRST) AS position
FROM visits;

-- Every run: those of the run sheets, and fills and dumps of casks that only the casks' own record tells of.
-- made from: typed.runs, derived.cask_events
CREATE OR REPLACE VIEW derived.runs AS
SELECT * FROM typed.runs
UNION ALL BY NAME
SELECT run, CASE WHEN bool_or(event = 'filled') THEN 'fill' ELSE 'dump' END AS stage, 'casks' AS equipment,
       min(happened_at) AS started_at, max(happened_at) AS ended_at, first(person ORDER BY happened_at, person) AS operator,
       first(source_id ORDER BY happened_at, source_id, line) AS source_id, first(line ORDER BY happened_at, source_id, line) AS line
FROM derived.cask_events
WHERE run IS NOT NULL AND run NOT IN (SELECT run FROM typed.runs)
GROUP BY run;

-- Every movement of a lot into or out of a run: those written down as such, and those that filling, drawing and emptying a
-- cask are. What was filled came of a lot; where the run sheet does not gauge that draw itself, the filling gauges both, so
-- that they share all of their errors (`shares_gauge`: the gauge that both are).
-- made from: typed.movements, typed.intake, typed.opening_stock, derived.cask_events
CREATE OR REPLACE VIEW derived.movements AS
WITH vessels AS (       -- where a lot was put last
    SELECT lot, last(vessel ORDER BY put_at, vessel) AS vessel FROM (
        SELECT lot, vessel, gauged_at AS put_at FROM typed.movements WHERE direction = 'out'
        UNION ALL SELECT lot, vessel, received_at FROM typed.intake
        UNION ALL SELECT lot, vessel, counted_at FROM typed.opening_stock
    ) WHERE vessel IS NOT NULL GROUP BY lot
),
gauged_on_sheet AS (
    SELECT DISTINCT run, lot, direction FROM typed.movements
),
cask_to_cask AS (       -- the other cask's own row gauges what left it
    SELECT DISTINCT run, contents AS lot FROM derived.cask_events WHERE event IN ('drawn', 'emptied')
),
of_casks AS (
    SELECT *, concat_ws(' ', 'cask', cask, event, happened_at, lot) AS shares_gauge FROM derived.cask_events
    WHERE event IN ('filled', 'drawn', 'emptied') AND run IS NOT NULL
)
SELECT *, NULL::DOUBLE AS stated_alcohol_l, NULL::VARCHAR AS shares_gauge, NULL::VARCHAR AS measured_in FROM typed.movements
UNION ALL BY NAME
SELECT run, CASE event WHEN 'filled' THEN 'out' ELSE 'in' END AS direction, contents AS lot, 'spirit' AS part, cask AS vessel,
       happened_at AS gauged_at, volume_at_t_l, volume_temperature_c, strength_reading, reading_kind, reading_temperature_c,
       instrument, preparation, net_kg AS mass_kg, alcohol_l AS stated_alcohol_l, shares_gauge, cask AS measured_in, source_id, line
FROM of_casks
UNION ALL BY NAME
SELECT c.run, 'in' AS direction, c.lot, 'spirit' AS part, v.vessel, c.happened_at AS gauged_at, c.volume_at_t_l, c.volume_temperature_c, c.strength_reading, c.reading_kind,
       c.reading_temperature_c, c.instrument, c.preparation, c.net_kg AS mass_kg, c.alcohol_l AS stated_alcohol_l, c.shares_gauge,
       c.cask AS measured_in, c.source_id, c.line
FROM of_casks AS c LEFT JOIN vessels AS v USING (lot)
ANTI JOIN gauged_on_sheet AS g ON g.run = c.run AND g.lot = c.lot AND g.direction = 'in'
ANTI JOIN cask_to_cask AS k ON k.run = c.run AND k.lot = c.lot
WHERE c.event = 'filled';

-- Every gauge of a vessel at rest: dips of tanks, casks gauged again, and what was gauged when the house was counted. A tank
-- counted without its lot is compared with nothing here.
-- made from: typed.stock, derived.cask_events, typed.inventory, typed.cask_events, typed.casks
CREATE OR REPLACE VIEW derived.dips AS
SELECT *, NULL::DOUBLE AS mass_kg, NULL::DOUBLE AS stated_alcohol_l FROM typed.stock
UNION ALL BY NAME
SELECT cask AS vessel, contents AS lot, happened_at AS gauged_at, volume_at_t_l, volume_temperature_c, strength_reading, reading_kind,
       reading_temperature_c, instrument, preparation, net_kg AS mass_kg, alcohol_l AS stated_alcohol_l, source_id, line
FROM derived.cask_events WHERE event = 'regauged'
UNION ALL BY NAME
SELECT i.vessel, coalesce(e.contents, i.lot) AS lot, i.counted_at AS gauged_at, i.volume_at_t_l, i.volume_temperature_c, i.strength_reading, i.reading_kind,
       i.reading_temperature_c, i.instrument, i.preparation, coalesce(i.mass_kg, i.gross_kg - e.tare_kg) AS mass_kg,
       i.alcohol_l AS stated_alcohol_l, i.source_id, i.line
FROM typed.inventory AS i
LEFT JOIN LATERAL (     -- of a cask what it held at the time
    SELECT i.vessel || '/' || (SELECT 1 + count(*) FROM typed.cask_events AS c WHERE c.cask = i.vessel AND c.event = 'emptied' AND c.happened_at < i.counted_at) AS contents,
           (SELECT max(c.tare_kg) FROM typed.casks AS c WHERE c.cask = i.vessel) AS tare_kg
) AS e ON i.container = 'cask'
ANTI JOIN typed.stock AS s ON s.source_id = i.source_id AND s.line = i.line     -- a line received as dip and as count is one gauge
WHERE i.container <> 'cased goods' AND (i.container = 'cask' OR i.lot IS NOT NULL)
  AND coalesce(i.volume_at_t_l, i.mass_kg, i.gross_kg, i.alcohol_l) IS NOT NULL;

CREATE OR REPLACE TABLE derived.cask_losses (       -- one row a filling and measurement: what was lost since the one before
    contents VARCHAR, cask VARCHAR, number BIGINT,
    from_at TIMESTAMP, to_at TIMESTAMP,
    found_when VARCHAR,                             -- regauged, emptied
    found_l DOUBLE,                                 -- LPA then; nothing when it was emptied
    held_l DOUBLE,                                  -- LPA that it should have held
    loss_l DOUBLE, u_loss_l DOUBLE,                 -- LPA; NULL where a gauge could not be computed
    source_id INTEGER, line INTEGER
);

CREATE OR REPLACE TABLE derived.ages (              -- one row a lot of which a part lay in wood, or may have
    lot VARCHAR, in_cask BOOLEAN,
    aged_from DATE,                                 -- in a cask: the day from which its youngest part counts, breaks taken out
    as_of DATE,                                     -- the day of which the age is told: emptied, made, or the last of the book
    age_days INTEGER, years INTEGER, months INTEGER, days INTEGER,   -- of the youngest part; NULL where it is not known
    youngest VARCHAR,                               -- the lot that decides it
    casks INTEGER,                                  -- casks that it came through
    not_known VARCHAR                               -- why the age is NULL
);

CREATE OR REPLACE TABLE derived.evaporation (       -- one row a filling that was measured after it was filled
    contents VARCHAR, cask VARCHAR, nominal_l DOUBLE, wood VARCHAR, location VARCHAR,
    years DOUBLE,                                   -- from the first gauge to the last
    per_year DOUBLE, u_per_year DOUBLE,             -- part of the alcohol that is gone after a year
    like_it VARCHAR,                                -- the casks that it is compared with: size, wood and location, or fewer of them
    casks INTEGER,                                  -- usual casks among them; NULL below eight
    usual_per_year DOUBLE, u_usual_per_year DOUBLE, scatter_per_year DOUBLE,
    z DOUBLE, critical DOUBLE, is_outlier BOOLEAN
);

CREATE OR REPLACE TABLE derived.cask_stock (        -- one row a cask that holds something by the book
    cask VARCHAR, contents VARCHAR, location VARCHAR, filled_at TIMESTAMP,
    gauged_at TIMESTAMP, gauged_l DOUBLE, u_gauged_l DOUBLE,    -- LPA by the last gauge, and what went in and out since
    as_of TIMESTAMP,                                -- the last moment of the book
    expected_l DOUBLE, u_expected_l DOUBLE,         -- what should be there by then
    expected_by VARCHAR,                            -- its own rate, casks like it, last gauge (no rate is known)
    per_year DOUBLE,                                -- that rate: part of the alcohol that is gone after a year
    u_per_year DOUBLE,                              -- of casks like it that of their mean, which all foretold by it share
    scatter_per_year DOUBLE,                        -- from cask to cask; 0 for its own rate
    like_it VARCHAR                                 -- whose rate it is; NULL for its own
);

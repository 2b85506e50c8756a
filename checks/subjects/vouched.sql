-- One row a run (or a lot in the laboratory) and instrument: the next check of the instrument after its readings, which
-- vouches for them or puts them in doubt. Readings after the last check have none yet and no row.
-- flag_as: what the flag is named by, the moment in UTC, so that explanations stay whatever the house says of its zone.
WITH readings AS (
    SELECT instrument, run, NULL AS lot, gauged_at AS read_at, source_id, line FROM derived.movements
    UNION ALL
    SELECT instrument, NULL, lot, measured_at, source_id, line FROM typed.laboratory
),
checks AS (
    -- of several references the one at which it was furthest off, by its own uncertainty there
    SELECT instrument, checked_at, first(abs(error) ORDER BY round(abs(error) / u_instrument, 9) DESC, error, unit) AS error,
        first(u_instrument ORDER BY round(abs(error) / u_instrument, 9) DESC, error, unit) AS u_instrument,
        first(unit ORDER BY round(abs(error) / u_instrument, 9) DESC, error, unit) AS unit
    FROM calibration_errors
    WHERE u_instrument IS NOT NULL
    GROUP BY instrument, checked_at
)
SELECT
    coalesce('run ' || readings.run, 'lot ' || readings.lot) || ', read with ' || readings.instrument
        || ' before its check on ' || strftime(timezone(getvariable('house_zone'), timezone('UTC', checks.checked_at)), '%Y-%m-%d') AS record,
    coalesce('run ' || readings.run, 'lot ' || readings.lot) || ', read with ' || readings.instrument
        || ' before its check on ' || strftime(checks.checked_at, '%Y-%m-%d') AS flag_as,
    readings.run, readings.lot, readings.instrument AS equipment,
    first(readings.source_id ORDER BY readings.read_at, readings.source_id, readings.line) AS source_id,
    first(readings.line ORDER BY readings.read_at, readings.source_id, readings.line) AS line,
    checks.error, checks.u_instrument, count(*) || ' readings, ' || checks.unit AS note
FROM readings
ASOF JOIN checks ON checks.instrument = readings.instrument AND readings.read_at <= checks.checked_at
WHERE readings.read_at IS NOT NULL
GROUP BY readings.run, readings.lot, readings.instrument, checks.checked_at, checks.error, checks.u_instrument, checks.unit
ORDER BY checks.checked_at, readings.instrument, readings.run, readings.lot

-- One row a run (or a lot in the laboratory) and instrument: the next check of the instrument after its readings, which
-- vouches for them or puts them in doubt. Readings after the last check have none yet and no row.
WITH readings AS (
    SELECT instrument, run, NULL AS lot, gauged_at AS read_at, source_id, line FROM typed.movements
    UNION ALL
    SELECT instrument, NULL, lot, measured_at, source_id, line FROM typed.laboratory
),
checks AS (
    SELECT calibrations.instrument, calibrations.checked_at,
        max(abs(calibrations.reading - calibrations.reference_value)) AS error, any_value(known.u) AS u_instrument,
        any_value(calibrations.unit) AS unit
    FROM typed.calibrations AS calibrations
    JOIN house_instruments AS known ON known.code = calibrations.instrument AND known.unit = calibrations.unit
    GROUP BY calibrations.instrument, calibrations.checked_at
)
SELECT
    coalesce('run ' || readings.run, 'lot ' || readings.lot) || ', read with ' || readings.instrument
        || ' before its check on ' || strftime(checks.checked_at, '%Y-%m-%d') AS record,
    readings.run, readings.lot, readings.instrument AS equipment,
    first(readings.source_id ORDER BY readings.read_at, readings.source_id, readings.line) AS source_id,
    first(readings.line ORDER BY readings.read_at, readings.source_id, readings.line) AS line,
    checks.error, checks.u_instrument, count(*) || ' readings, ' || checks.unit AS note
FROM readings
ASOF JOIN checks ON checks.instrument = readings.instrument AND readings.read_at <= checks.checked_at
WHERE readings.read_at IS NOT NULL
GROUP BY readings.run, readings.lot, readings.instrument, checks.checked_at, checks.error, checks.u_instrument, checks.unit
ORDER BY checks.checked_at, readings.instrument, readings.run, readings.lot

-- One row an instrument: how many of its readings were taken after its calibration had run out.
WITH readings AS (
    SELECT instrument, gauged_at AS read_at FROM derived.movements
    UNION ALL
    SELECT instrument, measured_at FROM typed.laboratory
    UNION ALL
    SELECT instrument, measured_at FROM typed.fills
    UNION ALL
    SELECT instrument, gauged_at FROM derived.dips
    UNION ALL
    SELECT instrument, received_at FROM typed.intake
    UNION ALL
    SELECT instrument, counted_at FROM typed.opening_stock
),
judged AS (
    SELECT readings.instrument, readings.read_at, calibrations.due_at
    FROM readings
    ASOF LEFT JOIN typed.calibrations
        ON calibrations.instrument = readings.instrument AND calibrations.checked_at <= readings.read_at
    WHERE readings.instrument IS NOT NULL AND readings.read_at IS NOT NULL
)
SELECT
    'instrument ' || judged.instrument AS record, judged.instrument AS equipment, known.code AS instrument_in_profile,
    judged.instrument,
    -- an instrument that was never checked cannot be judged
    CASE WHEN count(due_at) > 0 THEN count(*) FILTER (due_at < read_at) END AS readings_overdue,
    'of ' || count(*) || ' readings'
        || coalesce(', first on ' || strftime(timezone(getvariable('house_zone'), timezone('UTC', min(read_at) FILTER (due_at < read_at))), '%Y-%m-%d'), '') AS note
FROM judged
LEFT JOIN house_instruments AS known ON known.code = judged.instrument
GROUP BY judged.instrument, known.code
ORDER BY judged.instrument

-- One row a check of an instrument against a reference, in the unit of the check.
SELECT
    'instrument ' || instrument || ' on ' || strftime(checked_at, '%Y-%m-%d') || ' at ' || printf('%g', reference_value)
        AS record,
    instrument AS equipment, source_id, line, error, u_instrument, unit AS note
FROM calibration_errors
ORDER BY checked_at, instrument

-- One row a check of an instrument against a reference, in the unit of the check.
-- flag_as: what the flag is named by, the moment in UTC, so that explanations stay whatever the house says of its zone.
SELECT
    'instrument ' || instrument || ' on ' || strftime(timezone(getvariable('house_zone'), timezone('UTC', checked_at)), '%Y-%m-%d') || ' at ' || printf('%g', reference_value)
        AS record,
    'instrument ' || instrument || ' on ' || strftime(checked_at, '%Y-%m-%d') || ' at ' || printf('%g', reference_value)
        AS flag_as,
    instrument AS equipment, source_id, line, error, u_instrument, unit AS note
FROM calibration_errors
ORDER BY checked_at, instrument

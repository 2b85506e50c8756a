-- One row a check of an instrument against a reference, in the unit that its uncertainty is stated in.
SELECT
    'instrument ' || calibrations.instrument || ' on ' || strftime(calibrations.checked_at, '%Y-%m-%d')
        || ' at ' || printf('%g', calibrations.reference_value) AS record,
    calibrations.instrument AS equipment, calibrations.source_id, calibrations.line,
    calibrations.reading - calibrations.reference_value AS error,
    CASE WHEN known.unit = calibrations.unit THEN known.u END AS u_instrument,
    calibrations.unit AS note
FROM typed.calibrations
LEFT JOIN house_instruments AS known ON known.code = calibrations.instrument
ORDER BY calibrations.checked_at, calibrations.instrument

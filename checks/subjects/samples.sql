-- One row a sample and lot that the laboratory measured: by whom, and in which order of time.
SELECT
    'sample ' || results.sample || ' of lot ' || results.lot AS record, results.lot,
    min(results.source_id) AS source_id, min(results.line) AS line,
    CASE WHEN count(results.analyst) = count(*) THEN any_value(results.analyst) END AS analyst,
    bool_and(people.code IS NOT NULL OR results.analyst IS NULL)::VARCHAR AS analysts_known,
    max(date_diff('second', results.measured_at, results.taken_at)) / 3600.0 AS hours_measured_before_taken,
    count(*) || ' results' AS note
FROM typed.laboratory AS results
LEFT JOIN house_people AS people ON people.code = results.analyst
GROUP BY results.sample, results.lot
ORDER BY results.lot, results.sample

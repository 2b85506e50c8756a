-- One row a lot and analyte that was measured more than once by a method whose repeatability is published.
-- The greatest difference of n results is allowed 2.8, 3.3, 3.6, 3.9 s_r for n = 2 to 5 (ISO 5725-6, critical range
-- factors, from memory); the published r is 2.8 s_r.
SELECT
    'lot ' || laboratory.lot || ', ' || replace(laboratory.analyte, '_', ' ') AS record,
    laboratory.lot, laboratory.analyte, laboratory.source_id, laboratory.line, laboratory.spread,
    methods.repeatability * CASE least(laboratory.replicates, 5) WHEN 2 THEN 1 WHEN 3 THEN 3.3 / 2.8
        WHEN 4 THEN 3.6 / 2.8 ELSE 3.9 / 2.8 END AS allowed_spread,
    laboratory.replicates || ' results' || coalesce(', samples ' || laboratory.samples, '') AS note
FROM derived.laboratory
JOIN limit_methods AS methods ON methods.analyte = laboratory.analyte AND methods.unit = laboratory.unit
WHERE laboratory.replicates >= 2
ORDER BY laboratory.lot, laboratory.analyte

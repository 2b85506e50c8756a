-- Amendments of the records that the batch rests on, and of those that were amended away from it.
WITH resting_on AS (    -- `key`: what its key begins with
    SELECT 'runs' AS kind, source_id, line, run, NULL AS lot, NULL AS analyte, json_object('run', run) AS key
    FROM typed.runs WHERE run IN $runs
    UNION ALL SELECT 'movements', source_id, line, run, lot, NULL, json_object('run', run, 'direction', direction, 'lot', lot, 'part', part)
    FROM typed.movements WHERE run IN $runs
    UNION ALL SELECT 'intake', source_id, line, NULL, lot, NULL, json_object('lot', lot) FROM typed.intake WHERE lot IN $lots
    UNION ALL SELECT 'opening_stock', source_id, line, NULL, lot, NULL, json_object('lot', lot, 'vessel', vessel) FROM typed.opening_stock WHERE lot IN $lots
    UNION ALL SELECT 'laboratory', source_id, line, NULL, lot, analyte, json_object('sample', sample, 'lot', lot, 'analyte', analyte)
    FROM typed.laboratory WHERE lot IN $lots
    UNION ALL SELECT 'bottling', source_id, line, run, lot, NULL, json_object('lot', lot) FROM typed.bottling WHERE lot = $batch
    UNION ALL SELECT 'fills', source_id, line, NULL, lot, NULL, json_object('lot', lot) FROM typed.fills WHERE lot = $batch
    UNION ALL SELECT 'panel', source_id, line, NULL, lot, NULL, json_object('session', session) FROM typed.panel WHERE lot IN $lots
), here AS (
    SELECT a.*, r.run, r.lot, r.analyte
    FROM typed.amendments AS a JOIN resting_on AS r USING (kind, source_id, line)
    -- where a row gave several records, the one that was meant; where its key was amended as well, any of them
    QUALIFY json_contains(a.record_key, r.key)
        OR NOT coalesce(bool_or(json_contains(a.record_key, r.key)) OVER (PARTITION BY a.amendment), false)
), away AS (
    SELECT a.*, NULL AS run, NULL AS lot, NULL AS analyte
    FROM typed.amendments AS a
    WHERE amendment NOT IN (SELECT amendment FROM here)
      AND ((field = 'lot' AND old_value IN $lots) OR (field = 'run' AND old_value IN $runs))
)
SELECT amendment, kind, record, record_key, field, old_value, new_value, person, reason, amended_at, source_id, line, run, lot, analyte
FROM (SELECT * FROM here UNION ALL SELECT * FROM away)
ORDER BY amendment, run, lot, analyte;

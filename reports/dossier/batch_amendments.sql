-- Amendments of the records that the batch rests on, and of those that were amended away from it.
WITH resting_on AS (
    SELECT 'runs' AS kind, source_id, line, run, NULL AS lot, NULL AS analyte, run AS key_begins
    FROM typed.runs WHERE run IN $runs
    UNION ALL SELECT 'movements', source_id, line, run, lot, NULL, concat_ws(' / ', run, direction, lot, part)
    FROM typed.movements WHERE run IN $runs
    UNION ALL SELECT 'intake', source_id, line, NULL, lot, NULL, lot FROM typed.intake WHERE lot IN $lots
    UNION ALL SELECT 'opening_stock', source_id, line, NULL, lot, NULL, concat_ws(' / ', lot, vessel) FROM typed.opening_stock WHERE lot IN $lots
    UNION ALL SELECT 'laboratory', source_id, line, NULL, lot, analyte, concat_ws(' / ', sample, lot, analyte)
    FROM typed.laboratory WHERE lot IN $lots
    UNION ALL SELECT 'bottling', source_id, line, run, lot, NULL, lot FROM typed.bottling WHERE lot = $batch
    UNION ALL SELECT 'fills', source_id, line, NULL, lot, NULL, lot FROM typed.fills WHERE lot = $batch
    UNION ALL SELECT 'panel', source_id, line, NULL, lot, NULL, session FROM typed.panel WHERE lot IN $lots
), here AS (
    SELECT a.*, r.run, r.lot, r.analyte
    FROM typed.amendments AS a JOIN resting_on AS r USING (kind, source_id, line)
    -- where a row gave several records, the one that was meant; where its key was amended as well, any of them
    QUALIFY starts_with(a.record, r.key_begins)
        OR NOT bool_or(starts_with(a.record, r.key_begins)) OVER (PARTITION BY a.amendment)
), away AS (
    SELECT a.*, NULL AS run, NULL AS lot, NULL AS analyte
    FROM typed.amendments AS a
    WHERE amendment NOT IN (SELECT amendment FROM here)
      AND ((field = 'lot' AND old_value IN $lots) OR (field = 'run' AND old_value IN $runs))
)
SELECT amendment, kind, record, field, old_value, new_value, person, reason, amended_at, source_id, line, run, lot, analyte
FROM (SELECT * FROM here UNION ALL SELECT * FROM away)
ORDER BY amendment, run, lot, analyte;

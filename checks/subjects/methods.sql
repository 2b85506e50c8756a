-- One row a lot and analyte that was measured by two instruments or methods or more: how far their means lie apart.
WITH means AS (
    SELECT results.lot, results.analyte, results.unit, coalesce(results.method, '') || ' ' || coalesce(results.instrument, '') AS way,
        avg(results.value) AS mean, count(*) AS number, min(results.source_id) AS source_id, min(results.line) AS line
    FROM typed.laboratory AS results
    LEFT JOIN derived.extracts ON extracts.lot = results.lot
    WHERE NOT results.below_limit
        -- extract sets what was read directly apart from what was read after distillation; rule true-strength tells
        AND (results.analyte <> 'strength' OR extracts.may_hold_from IS NULL OR results.preparation = 'distilled')
    GROUP BY ALL
)
SELECT
    'lot ' || means.lot || ', ' || replace(means.analyte, '_', ' ') || ' by several ways' AS record,
    means.lot, means.analyte, min(means.source_id) AS source_id, min(means.line) AS line,
    max(means.mean) - min(means.mean) AS apart, any_value(limits.reproducibility) AS allowed_apart,
    string_agg(trim(means.way) || ' ' || printf('%g', round(means.mean, 4)), ', ' ORDER BY means.way) AS note
FROM means
JOIN limit_methods AS limits ON limits.analyte = means.analyte AND limits.unit = means.unit
GROUP BY means.lot, means.analyte
HAVING count(*) >= 2
ORDER BY means.lot, means.analyte

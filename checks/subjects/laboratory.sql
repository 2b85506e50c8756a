-- One row a lot, analyte and spirit category that the lot was bottled as, with the category's limits; a lot that
-- was not bottled has a row without them. "<20" against a limit of 10 settles nothing, so its value is NULL here.
WITH finished AS (
    SELECT DISTINCT finished_lots.lot, products.category, products.jurisdiction
    FROM finished_lots
    JOIN products ON products.product = finished_lots.product
),
results AS (
    SELECT lot, analyte, unit, value, u_value, below_limit, source_id, line FROM congeners
    UNION ALL
    SELECT lot, analyte, unit, value, u_value, below_limit, source_id, line FROM derived.laboratory
    WHERE (lot, analyte) NOT IN (SELECT (lot, analyte) FROM congeners)
)
SELECT
    'lot ' || results.lot || ', ' || replace(results.analyte, '_', ' ')
        || coalesce(' (as ' || finished.category || ')', '') AS record,
    results.lot, results.source_id, results.line, results.analyte, results.unit,
    limits.least, limits.most, limits.below, results.u_value,
    CASE
        WHEN limits.unit <> results.unit THEN NULL
        WHEN results.below_limit AND results.value > coalesce(limits.most, limits.below) THEN NULL
        ELSE results.value
    END AS value
FROM results
LEFT JOIN finished ON finished.lot = results.lot
LEFT JOIN limit_analytes AS limits
    ON limits.category = finished.category AND limits.jurisdiction = finished.jurisdiction
    AND limits.analyte = results.analyte
ORDER BY results.lot, results.analyte, finished.category

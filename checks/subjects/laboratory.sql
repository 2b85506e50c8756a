-- One row a lot, analyte and spirit category that the lot was bottled as, with the limits of the day; a lot that
-- was not bottled has a row without them. "<20" against a limit of 10 settles nothing, so its value is NULL here.
WITH finished AS (
    SELECT finished_lots.lot, products.category, products.jurisdiction, max(products.law_of) AS law_of
    FROM finished_lots
    JOIN batch_products AS products ON products.batch = finished_lots.batch
    GROUP BY finished_lots.lot, products.category, products.jurisdiction
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
    limits.least, limits.most, limits.below, limits.most_from_memory, results.u_value,
    CASE
        WHEN limits.unit <> results.unit THEN NULL
        WHEN results.below_limit AND results.value > coalesce(limits.most, limits.below, limits.most_from_memory) THEN NULL
        ELSE results.value
    END AS value
FROM results
LEFT JOIN finished ON finished.lot = results.lot
LEFT JOIN limit_analytes AS limits
    ON limits.category = finished.category AND limits.jurisdiction = finished.jurisdiction
    AND limits.analyte = results.analyte
    AND finished.law_of >= limits.valid_from AND finished.law_of < limits.valid_until
ORDER BY results.lot, results.analyte, finished.category

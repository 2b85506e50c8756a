-- One row a result on a lot that served as ethyl alcohol of agricultural origin, with the limits of that.
WITH served AS (
    SELECT DISTINCT lineage.lot
    FROM derived.lineage
    JOIN derived.bottlings USING (batch)
    JOIN products ON products.product = bottlings.product AND products.from_neutral_spirit
),
neutral_lots AS (
    SELECT lot, max_by(strength_pct_vol, gauged_at) AS strength_pct_vol,
        max_by(u_strength_pct_vol, gauged_at) AS u_strength_pct_vol
    FROM derived.gauges
    WHERE lot IN (FROM served) AND (
        (stage = 'rectify' AND direction = 'out' AND part = 'hearts')
        OR lot IN (SELECT lot FROM typed.intake WHERE kind = 'neutral spirit')
    )
    GROUP BY lot
),
results AS (
    SELECT lot, 'strength' AS analyte, 'pct_vol' AS unit,
        coalesce(laboratory.value, neutral_lots.strength_pct_vol) AS value,
        CASE WHEN laboratory.value IS NULL THEN neutral_lots.u_strength_pct_vol ELSE laboratory.u_value END AS u_value,
        laboratory.source_id, laboratory.line
    FROM neutral_lots
    LEFT JOIN (FROM derived.laboratory WHERE analyte = 'strength') AS laboratory USING (lot)
    UNION ALL
    SELECT lot, analyte, unit, value, u_value, source_id, line
    FROM congeners WHERE lot IN (SELECT lot FROM neutral_lots)
),
asked AS (
    SELECT analyte, unit, most, NULL::DOUBLE AS least FROM limit_analytes
    WHERE category = 'ethyl alcohol of agricultural origin'
    UNION ALL
    SELECT 'strength', 'pct_vol', NULL, least_strength_pct_vol FROM limit_categories
    WHERE category = 'ethyl alcohol of agricultural origin'
)
SELECT
    'lot ' || results.lot || ', ' || replace(results.analyte, '_', ' ') AS record,
    results.lot, results.source_id, results.line, results.analyte,
    results.value, results.u_value, asked.least, asked.most
FROM results
JOIN asked ON asked.analyte = results.analyte AND asked.unit = results.unit
ORDER BY results.lot, results.analyte

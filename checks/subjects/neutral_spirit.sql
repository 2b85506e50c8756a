-- One row a result on a lot that served as ethyl alcohol of agricultural origin, with the limits of that.
WITH serving AS (       -- behind a batch, or drawn by a run for such a product, whose batch is yet to be bottled
    SELECT lineage.lot, products.jurisdiction, products.law_of
    FROM derived.lineage
    JOIN batch_products AS products ON products.batch = lineage.batch AND products.from_neutral_spirit
    UNION ALL
    SELECT gauges.lot, products.jurisdiction, runs.started_at
    FROM derived.gauges
    JOIN derived.runs ON runs.run = gauges.run
    JOIN products ON products.product = runs.product
    JOIN limit_categories AS categories
        ON categories.category = products.category AND categories.jurisdiction = products.jurisdiction AND categories.from_neutral_spirit
        AND runs.started_at >= categories.valid_from AND runs.started_at < categories.valid_until
    WHERE gauges.direction = 'in' AND gauges.stage IN ('botanical', 'steep', 'blend')
),
served AS (             -- under each jurisdiction by the law of the last of them
    SELECT lot, jurisdiction, max(law_of) AS law_of FROM serving GROUP BY lot, jurisdiction
),
neutral_lots AS (
    SELECT lot, first(strength_pct_vol ORDER BY gauged_at DESC, direction DESC, run, vessel) FILTER (strength_pct_vol IS NOT NULL) AS strength_pct_vol,
        first(u_strength_pct_vol ORDER BY gauged_at DESC, direction DESC, run, vessel) FILTER (strength_pct_vol IS NOT NULL) AS u_strength_pct_vol
    FROM derived.gauges
    WHERE lot IN (SELECT lot FROM served) AND (
        (stage = 'rectify' AND direction = 'out' AND part = 'hearts')
        OR lot IN (SELECT lot FROM derived.openings WHERE kind = 'neutral spirit')
    )
    GROUP BY lot
),
results AS (
    SELECT lot, 'strength' AS analyte, 'pct_vol' AS unit,
        coalesce(laboratory.value, neutral_lots.strength_pct_vol) AS value,
        CASE WHEN laboratory.value IS NULL THEN neutral_lots.u_strength_pct_vol ELSE laboratory.u_value END AS u_value,
        false AS below_limit, laboratory.source_id, laboratory.line
    FROM neutral_lots
    LEFT JOIN (FROM derived.laboratory WHERE analyte = 'strength') AS laboratory USING (lot)
    UNION ALL
    SELECT lot, analyte, unit, value, u_value, below_limit, source_id, line
    FROM congeners WHERE lot IN (SELECT lot FROM neutral_lots)
),
asked AS (
    SELECT categories.jurisdiction, categories.valid_from, categories.valid_until,
        analytes.analyte, analytes.unit, analytes.most, analytes.most_from_memory, NULL::DOUBLE AS least
    FROM limit_categories AS categories
    JOIN limit_analytes AS analytes
        ON analytes.category = categories.category AND analytes.jurisdiction = categories.jurisdiction
        AND analytes.valid_from = categories.valid_from
    WHERE categories.is_neutral_spirit
    UNION ALL
    SELECT jurisdiction, valid_from, valid_until, 'strength', 'pct_vol', NULL, NULL,
        coalesce(distilled_least_pct_vol, least_strength_pct_vol)
    FROM limit_categories
    WHERE is_neutral_spirit
)
SELECT
    'lot ' || results.lot || ', ' || replace(results.analyte, '_', ' ')
        || CASE asked.jurisdiction WHEN 'EU' THEN '' ELSE ' (' || asked.jurisdiction || ')' END AS record,
    results.lot, results.source_id, results.line, results.analyte,
    -- "not detectable" is a yes or no: what lies below its limit of quantification was not detected
    CASE WHEN asked.most = 0 AND results.below_limit THEN 0.0 ELSE results.value END AS value,
    CASE WHEN asked.most = 0 THEN 0.0 ELSE results.u_value END AS u_value, asked.least, asked.most, asked.most_from_memory
FROM results
JOIN served ON served.lot = results.lot
JOIN asked
    ON asked.jurisdiction = served.jurisdiction AND asked.analyte = results.analyte AND asked.unit = results.unit
    AND served.law_of >= asked.valid_from AND served.law_of < asked.valid_until
ORDER BY results.lot, results.analyte, asked.jurisdiction

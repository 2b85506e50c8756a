-- One row a batch of a category that asks for sugar by mass: the sugar of the finished product, as sweetening or, where
-- none was measured, as sugar. The density of the product comes from its strength and extract, outside SQL.
WITH sugars AS (
    SELECT finished_lots.batch, laboratory.value, laboratory.u_value, laboratory.source_id, laboratory.line
    FROM finished_lots
    JOIN derived.laboratory ON laboratory.lot = finished_lots.lot
    WHERE laboratory.analyte IN ('sweetening', 'sugar') AND laboratory.unit = 'g/L' AND NOT coalesce(laboratory.below_limit, false)
    QUALIFY row_number() OVER (
        PARTITION BY finished_lots.batch
        ORDER BY laboratory.analyte DESC, laboratory.lot <> finished_lots.batch, laboratory.lot
    ) = 1
)
SELECT
    'batch ' || bottlings.batch AS record, bottlings.batch, coalesce(sugars.source_id, bottling.source_id) AS source_id,
    coalesce(sugars.line, bottling.line) AS line, products.sugar_least_pct_mass, sugars.value AS sugar_g_l,
    sugars.u_value AS u_sugar_g_l, bottlings.laboratory_strength_pct_vol, bottlings.laboratory_strength_is, bottlings.extract_g_l
FROM derived.bottlings
JOIN typed.bottling ON bottling.lot = bottlings.batch
JOIN batch_products AS products ON products.batch = bottlings.batch AND products.sugar_least_pct_mass IS NOT NULL
LEFT JOIN sugars ON sugars.batch = bottlings.batch
ORDER BY bottlings.bottled_at, bottlings.batch

-- One row a batch, market and contaminant that the market limits or sets a target for, and one where the house has a target
-- of its own; a value is NULL where the record does not show it. Per litre from the result, or per pure alcohol with the strength; per kilogram outside SQL.
WITH results AS (
    SELECT
        finished_lots.batch, laboratory.analyte, laboratory.source_id, laboratory.line, laboratory.below_limit,
        CASE laboratory.unit WHEN 'mg/L' THEN 1.0 WHEN 'g/hL pa' THEN bottlings.laboratory_strength_pct_vol / 10 END AS mg_l_each,
        laboratory.value, laboratory.u_value
    FROM finished_lots
    JOIN derived.bottlings ON bottlings.batch = finished_lots.batch
    JOIN derived.laboratory ON laboratory.lot = finished_lots.lot
    -- the batch's own result before that of the liquid it was bottled from
    QUALIFY row_number() OVER (
        PARTITION BY finished_lots.batch, laboratory.analyte ORDER BY laboratory.lot <> finished_lots.batch, laboratory.lot
    ) = 1
),
asked AS (
    SELECT products.batch, limits.analyte, limits.market, limits.standing, limits.most_ug_kg
    FROM batch_products AS products
    JOIN house_markets ON house_markets.product = products.product
    JOIN limit_contaminants AS limits ON limits.category = products.category
        AND limits.jurisdiction = products.jurisdiction AND limits.market = house_markets.market
    UNION ALL
    SELECT products.batch, targets.analyte, 'house', 'house target', targets.most_ug_kg
    FROM batch_products AS products JOIN house_targets AS targets ON targets.product = products.product
)
SELECT
    'batch ' || bottlings.batch || ', ' || replace(limits.analyte, '_', ' ') || ' (' || limits.market || ')' AS record,
    bottlings.batch, coalesce(results.source_id, bottling.source_id) AS source_id, coalesce(results.line, bottling.line) AS line,
    limits.analyte, limits.market, limits.standing, limits.most_ug_kg, results.below_limit,
    bottlings.laboratory_strength_pct_vol, results.value * results.mg_l_each AS value_mg_l, results.u_value * results.mg_l_each AS u_value_mg_l
FROM derived.bottlings
JOIN typed.bottling ON bottling.lot = bottlings.batch
JOIN asked AS limits ON limits.batch = bottlings.batch
LEFT JOIN results ON results.batch = bottlings.batch AND results.analyte = limits.analyte
ORDER BY bottlings.batch, limits.market, limits.analyte

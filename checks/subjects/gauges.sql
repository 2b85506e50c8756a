-- One row a movement of what carries alcohol, with what the law asks of a distillate for the batches it went into.
WITH asked AS (
    SELECT
        lineage.run, min(products.distilled_below_pct_vol) AS distilled_below_pct_vol,
        min(products.distilled_most_pct_vol) AS distilled_most_pct_vol,
        max(products.distilled_least_pct_vol) AS distilled_least_pct_vol,
        max(products.distilled_above_pct_vol) AS distilled_above_pct_vol
    FROM derived.lineage
    JOIN batch_products AS products ON products.batch = lineage.batch
    GROUP BY lineage.run
)
SELECT
    gauges.part || ' lot ' || gauges.lot || CASE gauges.direction WHEN 'in' THEN ' into' ELSE ' out of' END
        || ' run ' || gauges.run AS record,
    gauges.run, gauges.lot, gauges.equipment, gauges.source_id, gauges.line,
    gauges.stage, gauges.direction, gauges.part,
    gauges.strength_reading, gauges.strength_pct_vol, gauges.u_strength_pct_vol, gauges.alcohol_l,
    gauges.not_computed AS note,
    site.highest_strength_pct_vol, asked.distilled_below_pct_vol, asked.distilled_most_pct_vol,
    asked.distilled_least_pct_vol, asked.distilled_above_pct_vol
FROM derived.gauges
CROSS JOIN site
LEFT JOIN asked ON asked.run = gauges.run AND gauges.direction = 'out'
WHERE gauges.part IN ('wash', 'foreshots', 'heads', 'hearts', 'tails', 'feints', 'spirit', 'liquid')
ORDER BY gauges.gauged_at, gauges.run, gauges.direction, gauges.lot

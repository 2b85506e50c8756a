-- One row a batch: the laboratory's strength of the liquid that was bottled, and alcohol in and into bottles.
WITH drawn AS (
    SELECT run, sum(alcohol_l) AS alcohol_in_l, sqrt(sum(u_alcohol_l ** 2)) AS u_alcohol_in_l,
           first(lot ORDER BY alcohol_l DESC, lot) FILTER (alcohol_l IS NOT NULL) AS liquid
    FROM derived.gauges WHERE direction = 'in' AND stage = 'bottle' GROUP BY run
),
filled AS (
    SELECT lot, sum(alcohol_l) AS alcohol_bottled_l, sqrt(sum(u_alcohol_l ** 2)) AS u_alcohol_bottled_l
    FROM derived.gauges WHERE direction = 'out' AND part = 'bottles' GROUP BY lot
)
SELECT
    b.lot AS batch, b.run, b.product, products.jurisdiction, b.bottled_at, b.nominal_ml, b.label_strength_pct_vol, b.bottles_filled, b.bottles_rejected,
    coalesce(own.value, liquid.value) AS laboratory_strength_pct_vol,
    coalesce(own.u_value, liquid.u_value) AS u_laboratory_strength_pct_vol,
    -- apparent where the liquid holds extract, or may, and was not distilled for it
    CASE WHEN coalesce(own.value, liquid.value) IS NULL THEN NULL
         WHEN coalesce(e.may_hold_from, x.may_hold_from) IS NULL THEN 'true'
         WHEN CASE WHEN own.value IS NULL THEN liquid.preparation ELSE own.preparation END = 'distilled' THEN 'true'
         ELSE 'apparent' END AS laboratory_strength_is,
    coalesce(e.extract_g_l, x.extract_g_l) AS extract_g_l,
    d.alcohol_in_l, d.u_alcohol_in_l, f.alcohol_bottled_l, f.u_alcohol_bottled_l,
    1 - f.alcohol_bottled_l / nullif(d.alcohol_in_l, 0) AS bottling_loss
FROM typed.bottling AS b
LEFT JOIN derived.house_products AS products ON products.code = b.product
LEFT JOIN drawn AS d USING (run)
LEFT JOIN filled AS f USING (lot)
LEFT JOIN derived.laboratory AS own ON own.lot = b.lot AND own.analyte = 'strength'
LEFT JOIN derived.laboratory AS liquid ON liquid.lot = d.liquid AND liquid.analyte = 'strength'
LEFT JOIN derived.extracts AS e ON e.lot = d.liquid
LEFT JOIN derived.extracts AS x ON x.lot = b.lot AND e.lot IS NULL
ORDER BY b.bottled_at, b.lot

-- One row a batch: the laboratory's strength of the liquid that was bottled, and alcohol in and into bottles. With one gauge
-- that could not be computed the sum is not known, and neither is the loss.
WITH drawn AS (
    SELECT run, CASE WHEN count(*) = count(alcohol_l) THEN sum(alcohol_l) END AS alcohol_in_l,
           first(lot ORDER BY alcohol_l DESC, lot) FILTER (alcohol_l IS NOT NULL) AS liquid
    FROM derived.gauges WHERE direction = 'in' AND stage = 'bottle' GROUP BY run
),
filled AS (
    SELECT lot, CASE WHEN count(*) = count(alcohol_l) THEN sum(alcohol_l) END AS alcohol_bottled_l
    FROM derived.gauges WHERE direction = 'out' AND part = 'bottles' GROUP BY lot
),
counted AS (
    SELECT b.lot, 'in' AS side, g.gauge FROM typed.bottling AS b JOIN derived.gauges AS g USING (run)
    WHERE g.direction = 'in' AND g.stage = 'bottle'
    UNION ALL
    SELECT lot, 'bottled', gauge FROM derived.gauges WHERE direction = 'out' AND part = 'bottles'
),
errors AS (             -- of what went in and what is in bottles: where the strength is one reading, it cancels in the loss
    SELECT c.lot, e.error, coalesce(sum(e.alcohol_l ORDER BY e.alcohol_l) FILTER (c.side = 'in'), 0) AS in_e,
           coalesce(sum(e.alcohol_l ORDER BY e.alcohol_l) FILTER (c.side = 'bottled'), 0) AS out_e
    FROM counted AS c JOIN derived.gauge_errors AS e USING (gauge)
    GROUP BY c.lot, e.error
),
uncertainties AS (
    SELECT e.lot, sqrt(sum(in_e ** 2 ORDER BY error)) AS u_in_l, sqrt(sum(out_e ** 2 ORDER BY error)) AS u_bottled_l,
           sqrt(sum((out_e / d.alcohol_in_l - f.alcohol_bottled_l * in_e / d.alcohol_in_l ** 2) ** 2 ORDER BY error)) AS u_loss
    FROM errors AS e JOIN typed.bottling AS b USING (lot)
    LEFT JOIN drawn AS d ON d.run = b.run AND d.alcohol_in_l > 0 LEFT JOIN filled AS f ON f.lot = e.lot
    GROUP BY e.lot
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
    d.alcohol_in_l, CASE WHEN d.alcohol_in_l IS NOT NULL THEN u.u_in_l END AS u_alcohol_in_l,
    f.alcohol_bottled_l, CASE WHEN f.alcohol_bottled_l IS NOT NULL THEN u.u_bottled_l END AS u_alcohol_bottled_l,
    1 - f.alcohol_bottled_l / nullif(d.alcohol_in_l, 0) AS bottling_loss, u.u_loss AS u_bottling_loss
FROM typed.bottling AS b
LEFT JOIN derived.house_products AS products ON products.code = b.product
LEFT JOIN drawn AS d USING (run)
LEFT JOIN filled AS f USING (lot)
LEFT JOIN uncertainties AS u ON u.lot = b.lot
LEFT JOIN derived.laboratory AS own ON own.lot = b.lot AND own.analyte = 'strength'
LEFT JOIN derived.laboratory AS liquid ON liquid.lot = d.liquid AND liquid.analyte = 'strength'
LEFT JOIN derived.extracts AS e ON e.lot = d.liquid
LEFT JOIN derived.extracts AS x ON x.lot = b.lot AND e.lot IS NULL
ORDER BY b.bottled_at, b.lot

-- Every ended run or bottled batch of every measure: what it gave and what that is counted over, with the standard
-- uncertainty u of their ratio. A row without a figure stands here too: it is left out of sums and counted. Mash
-- efficiency needs the extract of the wort and comes from mash_rows.sql, right first time from first_time.sql. Codes: reports/measure_list.py.
WITH ferments AS (
    SELECT y.*, mash.recipe, mash.operator
    FROM derived.ferment_yields AS y LEFT JOIN derived.runs AS mash ON mash.run = coalesce(y.mash_run, y.run)
),
washes AS (              -- what the strip runs were charged with
    SELECT m.run, min(f.recipe) AS recipe, list_distinct(flatten(list(f.malt_lots) FILTER (f.malt_lots IS NOT NULL))) AS malt_lots
    FROM derived.movements AS m JOIN ferments AS f ON f.wash_lot = m.lot
    WHERE m.direction = 'in' GROUP BY m.run
),
stills AS (
    SELECT b.*, coalesce(r.recipe, w.recipe) AS recipe, w.malt_lots, r.operator
    FROM derived.run_balances AS b JOIN derived.runs AS r USING (run) LEFT JOIN washes AS w USING (run)
    WHERE b.stage IN ('strip', 'rectify', 'botanical')
),
strengths AS (           -- of the hearts; several receivers are no one strength, and have no u here
    SELECT run, CASE WHEN count(*) = 1 THEN max(u_strength_pct_vol) END AS u
    FROM derived.gauges WHERE direction = 'out' AND part = 'hearts' GROUP BY run
),
cuts AS (
    SELECT c.run, avg(r.parrot_strength_pct_vol) AS strength
    FROM derived.run_curves AS c JOIN typed.log_rows AS r
      ON r.equipment = c.equipment AND r.read_at BETWEEN c.hearts_to_at - INTERVAL 10 MINUTE AND c.hearts_to_at
    WHERE c.stage IN ('strip', 'botanical') GROUP BY c.run
),
analytes AS (            -- congeners of the lots that rectifying runs made
    SELECT DISTINCT g.run, l.analyte, l.per_alcohol_g_hl AS value,
           -- in the unit of the value; "<0.05" has none
           CASE WHEN NOT l.below_limit THEN l.u_value * CASE WHEN l.unit = 'g/hL pa' THEN 1 ELSE l.per_alcohol_g_hl / nullif(l.value, 0) END
           END AS u
    FROM derived.laboratory AS l JOIN derived.gauges AS g USING (lot)
    WHERE g.stage = 'rectify' AND g.direction = 'out' AND g.part = 'hearts' AND l.per_alcohol_g_hl IS NOT NULL
),
congeners AS (           -- only where all that are measured on such lots are there
    SELECT run, count(*) = max(count(*)) OVER () AS whole, sum(value) AS value, sqrt(sum(u * u)) AS u
    FROM analytes WHERE analyte <> 'methanol' GROUP BY run
),
reduced AS (
    SELECT g.run, r.equipment, r.product, r.operator, r.ended_at,
           sum(g.volume_l) AS volume_l, sum(g.strength_pct_vol * g.volume_l) AS strength_volume,
           max(g.u_strength_pct_vol) AS u, max(p.label_strength_pct_vol) AS label
    FROM derived.gauges AS g JOIN derived.runs AS r USING (run) LEFT JOIN labels AS p ON p.product = r.product
    WHERE g.stage = 'reduce' AND g.direction = 'out' AND g.volume_l IS NOT NULL GROUP BY ALL
),
bottled AS (
    SELECT b.*, r.equipment, r.operator FROM derived.bottlings AS b LEFT JOIN derived.runs AS r USING (run)
),
turns AS (
    SELECT run, equipment, recipe, product, operator, ended_at, epoch(ended_at - started_at) / 3600 AS hours,
           epoch(ended_at - lag(ended_at) OVER (PARTITION BY equipment ORDER BY ended_at, run)) / 3600 AS since
    FROM derived.runs WHERE stage IN ('strip', 'rectify', 'botanical') AND ended_at IS NOT NULL
),
rows AS (
    SELECT 'yield_l_per_t' AS measure, run, NULL AS batch, ended_at, alcohol_l AS numerator,
           grain_kg / 1000 AS denominator, u_yield_l_per_t AS u, equipment, recipe, NULL AS product, malt_lots, operator
    FROM ferments
    UNION ALL
    SELECT 'yield_against_prediction', run, NULL, ended_at, alcohol_l, predicted_alcohol_l,
           u_alcohol_l / predicted_alcohol_l, equipment, recipe, NULL, malt_lots, operator FROM ferments
    UNION ALL
    SELECT 'attenuation', run, NULL, ended_at, original_gravity - final_gravity, original_gravity - 1, NULL,
           equipment, recipe, NULL, malt_lots, operator FROM ferments
    UNION ALL
    SELECT 'fermentation_efficiency', run, NULL, ended_at, alcohol_l, alcohol_l / fermentation_efficiency,
           u_alcohol_l * fermentation_efficiency / alcohol_l, equipment, recipe, NULL, malt_lots, operator FROM ferments
    UNION ALL
    SELECT stage || '_recovery', run, NULL, ended_at, hearts_l, alcohol_in_l, u_recovery,
           equipment, recipe, product, malt_lots, operator FROM stills
    UNION ALL
    SELECT stage || '_unaccounted', run, NULL, ended_at, loss_l, alcohol_in_l, u_loss_l / alcohol_in_l,
           equipment, recipe, product, malt_lots, operator FROM stills
    UNION ALL
    SELECT stage || '_spent', run, NULL, ended_at, spent_l, alcohol_in_l, NULL,
           equipment, recipe, product, malt_lots, operator FROM stills WHERE stage <> 'botanical'
    UNION ALL
    SELECT stage || '_hearts_share', run, NULL, ended_at, hearts_l, heads_l + hearts_l + tails_l, NULL,
           equipment, recipe, product, malt_lots, operator FROM stills
    UNION ALL
    SELECT CASE stage WHEN 'rectify' THEN 'neutral_spirit_strength' ELSE stage || '_hearts_strength' END, run, NULL,
           ended_at, 100 * hearts_l, 100 * hearts_l / hearts_strength_pct_vol, s.u,
           equipment, recipe, product, malt_lots, operator FROM stills LEFT JOIN strengths AS s USING (run)
    UNION ALL
    SELECT stage || '_cut_strength', run, NULL, ended_at, c.strength, 1, NULL,
           equipment, recipe, product, malt_lots, operator FROM stills JOIN cuts AS c USING (run)
    UNION ALL
    SELECT 'congeners', run, NULL, ended_at, CASE WHEN c.whole THEN c.value * hearts_l END, hearts_l, c.u,
           equipment, recipe, product, malt_lots, operator FROM stills JOIN congeners AS c USING (run)
    UNION ALL
    SELECT 'methanol', run, NULL, ended_at, a.value * hearts_l, hearts_l, a.u,
           equipment, recipe, product, malt_lots, operator
    FROM stills JOIN analytes AS a USING (run) WHERE a.analyte = 'methanol'
    UNION ALL
    SELECT 'reduction_accuracy', run, NULL, ended_at, strength_volume - label * volume_l, volume_l, u,
           equipment, NULL, product, NULL, operator FROM reduced
    UNION ALL
    SELECT 'label_deviation', run, batch, bottled_at, label_deviation_pct_vol * bottles_filled,
           CASE WHEN label_deviation_pct_vol IS NOT NULL THEN bottles_filled END, u_laboratory_strength_pct_vol,
           equipment, NULL, product, NULL, operator FROM bottled
    UNION ALL
    SELECT 'fill_deviation', run, batch, bottled_at, (fill_mean_ml - nominal_ml) * bottles_filled,
           CASE WHEN fill_mean_ml IS NOT NULL THEN bottles_filled END, fill_sd_ml / sqrt(fills),
           equipment, NULL, product, NULL, operator FROM bottled
    UNION ALL
    SELECT 'fill_scatter', run, batch, bottled_at, fill_sd_ml * bottles_filled,
           CASE WHEN fill_sd_ml IS NOT NULL THEN bottles_filled END, fill_sd_ml / sqrt(2.0 * nullif(fills - 1, 0)),
           equipment, NULL, product, NULL, operator FROM bottled
    UNION ALL
    SELECT 'reject_rate', run, batch, bottled_at, bottles_rejected, bottles_filled + bottles_rejected, NULL,
           equipment, NULL, product, NULL, operator FROM bottled
    UNION ALL
    SELECT 'bottling_loss', run, batch, bottled_at, alcohol_in_l - alcohol_bottled_l, alcohol_in_l,
           u_bottling_loss,
           equipment, NULL, product, NULL, operator FROM bottled
    UNION ALL
    SELECT 'grain_to_bottle', run, batch, bottled_at, y.own_alcohol_l, y.predicted_alcohol_l, NULL,
           equipment, NULL, product, NULL, operator FROM bottled JOIN derived.batch_yields AS y USING (batch)
    UNION ALL
    SELECT 'days_grain_to_bottle', run, batch, bottled_at, y.days_grain_to_bottle * y.alcohol_bottled_l,
           CASE WHEN y.days_grain_to_bottle IS NOT NULL THEN y.alcohol_bottled_l END, NULL,
           equipment, NULL, product, NULL, operator FROM bottled JOIN derived.batch_yields AS y USING (batch)
    UNION ALL
    SELECT 'utilisation', run, NULL, ended_at, hours, since, NULL, equipment, recipe, product, NULL, operator
    FROM turns WHERE since > 0
)
SELECT rows.*, s.fills AS size, f.predicted_yield_l_per_t AS predicted
FROM rows
LEFT JOIN derived.bottlings AS s ON s.batch = rows.batch AND rows.measure IN ('fill_deviation', 'fill_scatter')
LEFT JOIN derived.ferment_yields AS f ON f.run = rows.run AND rows.measure = 'yield_l_per_t'
WHERE rows.ended_at IS NOT NULL ORDER BY rows.measure, rows.ended_at, rows.run, rows.batch;

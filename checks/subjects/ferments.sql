-- One row a ferment: what the grain, fruit or sugar gave against what its certificates promised and theory allows.
WITH sources AS (       -- the mashes behind each ferment, and what was fed to it directly
    SELECT DISTINCT drawn.run, coalesce(mash.run, drawn.run) AS source
    FROM derived.gauges AS drawn
    LEFT JOIN derived.gauges AS mash ON mash.lot = drawn.lot AND mash.direction = 'out' AND mash.part = 'wort'
    WHERE drawn.direction = 'in' AND drawn.stage = 'ferment'
),
fed AS (                -- lots of which nothing is predicted, and why
    SELECT sources.run, string_agg(DISTINCT bill.lot || ': ' || bill.not_known, ', ' ORDER BY bill.lot || ': ' || bill.not_known) AS not_known
    FROM sources JOIN derived.mash_bill AS bill ON bill.run = sources.source
    GROUP BY sources.run
)
SELECT
    'run ' || yields.run AS record, yields.run, yields.equipment, runs.source_id, runs.line,
    yields.yield_ratio, yields.u_yield_l_per_t / nullif(yields.predicted_yield_l_per_t, 0) AS u_yield_ratio,
    yields.yield_of_possible,
    -- a certificate is right to 1 % (standard uncertainty, common practice)
    yields.yield_of_possible * sqrt((yields.u_alcohol_l / nullif(yields.alcohol_l, 0)) ** 2 + 0.01 ** 2) AS u_yield_of_possible,
    CASE WHEN yields.malt_lots IS NOT NULL THEN 'yes' END AS has_material,
    yields.predicted_yield_l_per_t, fed.not_known,
    yields.apparent_attenuation, yields.fermentation_efficiency,
    yields.fermentation_efficiency * yields.u_alcohol_l / nullif(yields.alcohol_l, 0) AS u_fermentation_efficiency,
    yields.wash_strength_pct_vol,
    'lots ' || array_to_string(yields.malt_lots, ', ') AS note
FROM derived.ferment_yields AS yields
JOIN derived.runs ON runs.run = yields.run
LEFT JOIN fed ON fed.run = yields.run
ORDER BY yields.started_at, yields.run

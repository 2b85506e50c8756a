-- One row a ferment: what the grain or fruit gave against what its certificates promised.
SELECT
    'run ' || yields.run AS record, yields.run, yields.equipment, runs.source_id, runs.line,
    yields.yield_ratio, yields.u_yield_l_per_t / nullif(yields.predicted_yield_l_per_t, 0) AS u_yield_ratio,
    yields.apparent_attenuation, yields.fermentation_efficiency,
    yields.fermentation_efficiency * yields.u_alcohol_l / nullif(yields.alcohol_l, 0) AS u_fermentation_efficiency,
    yields.wash_strength_pct_vol,
    'lots ' || array_to_string(yields.malt_lots, ', ') AS note
FROM derived.ferment_yields AS yields
JOIN derived.runs ON runs.run = yields.run
ORDER BY yields.started_at, yields.run

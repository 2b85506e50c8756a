-- Runs of the board's span and those that a flag hangs on, with what they gave and the batches that they went into.
WITH into_batches AS (
    SELECT run, list(batch ORDER BY batch) AS batches FROM derived.ancestor_runs GROUP BY run
),
made AS (               -- the parts that run_balances counts as the run's product
    SELECT run, list(DISTINCT part ORDER BY part) AS parts FROM derived.gauges
    WHERE direction = 'out' AND part IN ('hearts', 'spirit', 'liquid', 'bottles') GROUP BY run
)
SELECT
    runs.run, runs.stage, runs.equipment, runs.recipe, runs.product, runs.operator, runs.started_at, runs.ended_at,
    coalesce(into_batches.batches, []) AS batches, coalesce(made.parts, []) AS parts,
    balances.alcohol_in_l, balances.u_alcohol_in_l, balances.hearts_l, balances.u_hearts_l, balances.recovery, balances.u_recovery,
    (SELECT sum(alcohol_l) FROM derived.gauges WHERE gauges.run = runs.run AND strength_is = 'apparent') AS apparent_l,
    (SELECT sum(alcohol_l) FROM derived.gauges WHERE gauges.run = runs.run AND strength_is = 'estimated') AS estimated_l,
    balances.loss_l, balances.u_loss_l, balances.missing_gauges, balances.hearts_strength_pct_vol,
    ferments.original_gravity, ferments.final_gravity, ferments.alcohol_l, ferments.u_alcohol_l, ferments.yield_l_per_t,
    ferments.u_yield_l_per_t, ferments.yield_ratio, ferments.malt_lots,
    files.name || coalesce(', sheet ' || sources.sheet, '') || ':' || runs.line AS place
FROM derived.runs
LEFT JOIN into_batches ON into_batches.run = runs.run
LEFT JOIN made ON made.run = runs.run
LEFT JOIN derived.run_balances AS balances ON balances.run = runs.run
LEFT JOIN derived.ferment_yields AS ferments ON ferments.run = runs.run
LEFT JOIN landed.sources ON sources.source_id = runs.source_id
LEFT JOIN received.files ON files.file_id = sources.file_id
WHERE coalesce(runs.ended_at, runs.started_at) >= $since OR runs.run IN (SELECT run FROM flagged.flags)
ORDER BY coalesce(runs.ended_at, runs.started_at), runs.run;

-- One row a filtration: alcohol lost in it, and how much weaker the liquid came out than it went in.
WITH strengths AS (
    SELECT
        run,
        avg(strength_pct_vol) FILTER (direction = 'in') AS strength_in_pct_vol,
        avg(strength_pct_vol) FILTER (direction = 'out') AS strength_out_pct_vol,
        sqrt(sum(u_strength_pct_vol ** 2)) AS u_change_pct_vol
    FROM derived.gauges
    WHERE stage = 'filter' AND alcohol_l > 0
    GROUP BY run
)
SELECT
    'run ' || runs.run AS record, runs.run, runs.equipment, runs.source_id, runs.line,
    balances.loss_l / nullif(balances.alcohol_in_l, 0) AS loss, balances.u_loss_l / nullif(balances.alcohol_in_l, 0) AS u_loss,
    strengths.strength_out_pct_vol - strengths.strength_in_pct_vol AS change_pct_vol, strengths.u_change_pct_vol
FROM derived.runs AS runs
LEFT JOIN derived.run_balances AS balances ON balances.run = runs.run
LEFT JOIN strengths ON strengths.run = runs.run
WHERE runs.stage = 'filter' AND runs.ended_at IS NOT NULL
ORDER BY runs.started_at, runs.run

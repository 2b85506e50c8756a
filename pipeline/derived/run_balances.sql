-- LPA into and out of each run that handles alcohol; uncertainties by the errors that its gauges share.
INSERT INTO derived.run_balances BY NAME
WITH sums AS (
    SELECT
        r.run, r.stage, r.equipment, r.product, r.started_at, r.ended_at,
        sum(g.alcohol_l) FILTER (g.direction = 'in') AS alcohol_in_l,
        sum(g.alcohol_l) FILTER (g.direction = 'out') AS alcohol_out_l,
        sum(g.alcohol_l) FILTER (g.direction = 'out' AND g.part IN ('foreshots', 'heads')) AS heads_l,
        sum(g.alcohol_l) FILTER (g.direction = 'out' AND g.part IN ('hearts', 'spirit', 'liquid', 'bottles')) AS hearts_l,
        sum(g.alcohol_l) FILTER (g.direction = 'out' AND g.part IN ('tails', 'feints')) AS tails_l,
        sum(g.alcohol_l) FILTER (g.direction = 'out' AND g.part = 'spent') AS spent_l,
        sum(g.volume_l) FILTER (g.direction = 'in' AND g.part NOT IN ('botanical', 'sweetening', 'packaging')) AS volume_in_l,
        sum(g.volume_l) FILTER (g.direction = 'out') AS volume_out_l,
        100 * sum(g.alcohol_l) FILTER (g.direction = 'out' AND g.part IN ('hearts', 'spirit', 'liquid'))
            / nullif(sum(g.volume_l) FILTER (g.direction = 'out' AND g.part IN ('hearts', 'spirit', 'liquid')), 0)
            AS hearts_strength_pct_vol,
        count(*) FILTER (g.not_computed IS NOT NULL) AS parts_not_computed
    FROM typed.runs AS r
    JOIN derived.gauges AS g USING (run)
    WHERE r.stage NOT IN ('mash', 'ferment')
    GROUP BY ALL
)
SELECT
    sums.*, CASE WHEN alcohol_in_l IS NOT NULL THEN u_alcohol_in_l END AS u_alcohol_in_l,
    CASE WHEN alcohol_out_l IS NOT NULL THEN u_alcohol_out_l END AS u_alcohol_out_l,
    CASE WHEN hearts_l IS NOT NULL THEN u_hearts_l END AS u_hearts_l,
    alcohol_in_l - alcohol_out_l AS loss_l,
    CASE WHEN alcohol_in_l - alcohol_out_l IS NOT NULL THEN u_loss_l END AS u_loss_l,
    hearts_l / nullif(alcohol_in_l, 0) AS recovery, u_recovery,
    alcohol_out_l / nullif(alcohol_in_l, 0) AS closure, u_closure
FROM sums LEFT JOIN derived.run_uncertainties USING (run)
-- a sum over a part that could not be computed would pass for a smaller one; such a run has no balance
WHERE parts_not_computed = 0
UNION ALL BY NAME
SELECT run, stage, equipment, product, started_at, ended_at, parts_not_computed FROM sums WHERE parts_not_computed > 0
ORDER BY ended_at, run;

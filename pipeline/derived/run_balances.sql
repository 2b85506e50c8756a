-- LPA into and out of each run that handles alcohol. Measurements are taken as independent (GUM, first order).
INSERT INTO derived.run_balances BY NAME
WITH sums AS (
    SELECT
        r.run, r.stage, r.equipment, r.product, r.started_at, r.ended_at,
        sum(g.alcohol_l) FILTER (g.direction = 'in') AS alcohol_in_l,
        sqrt(sum(g.u_alcohol_l ** 2) FILTER (g.direction = 'in')) AS u_alcohol_in_l,
        sum(g.alcohol_l) FILTER (g.direction = 'out') AS alcohol_out_l,
        sqrt(sum(g.u_alcohol_l ** 2) FILTER (g.direction = 'out')) AS u_alcohol_out_l,
        sum(g.alcohol_l) FILTER (g.direction = 'out' AND g.part IN ('foreshots', 'heads')) AS heads_l,
        sum(g.alcohol_l) FILTER (g.direction = 'out' AND g.part IN ('hearts', 'spirit', 'liquid', 'bottles')) AS hearts_l,
        sqrt(sum(g.u_alcohol_l ** 2) FILTER (g.direction = 'out' AND g.part IN ('hearts', 'spirit', 'liquid', 'bottles')))
            AS u_hearts_l,
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
    *,
    alcohol_in_l - alcohol_out_l AS loss_l,
    sqrt(u_alcohol_in_l ** 2 + u_alcohol_out_l ** 2) AS u_loss_l,
    hearts_l / nullif(alcohol_in_l, 0) AS recovery,
    hearts_l / nullif(alcohol_in_l, 0)
        * sqrt((u_hearts_l / nullif(hearts_l, 0)) ** 2 + (u_alcohol_in_l / nullif(alcohol_in_l, 0)) ** 2) AS u_recovery,
    alcohol_out_l / nullif(alcohol_in_l, 0) AS closure,
    alcohol_out_l / nullif(alcohol_in_l, 0)
        * sqrt((u_alcohol_out_l / nullif(alcohol_out_l, 0)) ** 2 + (u_alcohol_in_l / nullif(alcohol_in_l, 0)) ** 2)
        AS u_closure
FROM sums
-- a sum over a part that could not be computed would pass for a smaller one; such a run has no balance
WHERE parts_not_computed = 0
UNION ALL BY NAME
SELECT run, stage, equipment, product, started_at, ended_at, parts_not_computed FROM sums WHERE parts_not_computed > 0
ORDER BY ended_at, run;

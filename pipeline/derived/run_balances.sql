-- made from: derived.movements, derived.runs, derived.gauges, derived.run_uncertainties
-- LPA into and out of each run that handles alcohol; uncertainties by the errors that its gauges share.
-- One missing gauge leaves what does not need it: a sum over a part that could not be computed would pass for a smaller
-- one, so that sum is NULL, and with it what is made of it; loss and closure need every gauge.
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
        -- a charge fills the still whatever its strength: where that is missing, the volume as it was read
        sum(coalesce(g.volume_l, m.volume_at_t_l)) FILTER (g.direction = 'in' AND g.part NOT IN ('botanical', 'sweetening', 'packaging')) AS volume_in_l,
        sum(g.volume_l) FILTER (g.direction = 'out') AS volume_out_l,
        100 * sum(g.alcohol_l) FILTER (g.direction = 'out' AND g.part IN ('hearts', 'spirit', 'liquid', 'bottles'))
            / nullif(sum(g.volume_l) FILTER (g.direction = 'out' AND g.part IN ('hearts', 'spirit', 'liquid', 'bottles')), 0)
            AS hearts_strength_pct_vol,
        count(*) FILTER (g.not_computed IS NOT NULL) AS parts_not_computed,
        string_agg(g.part || ' ' || g.lot, ', ' ORDER BY g.direction, g.part, g.lot) FILTER (g.not_computed IS NOT NULL)
            AS missing_gauges,
        bool_or(g.not_computed IS NOT NULL AND g.direction = 'in') AS lacks_in,
        coalesce(bool_or(g.not_computed IS NOT NULL) FILTER (g.direction = 'out' AND g.part IN ('foreshots', 'heads')), false)
            AS lacks_heads,
        coalesce(bool_or(g.not_computed IS NOT NULL)
            FILTER (g.direction = 'out' AND g.part IN ('hearts', 'spirit', 'liquid', 'bottles')), false) AS lacks_hearts,
        coalesce(bool_or(g.not_computed IS NOT NULL) FILTER (g.direction = 'out' AND g.part IN ('tails', 'feints')), false)
            AS lacks_tails,
        coalesce(bool_or(g.not_computed IS NOT NULL) FILTER (g.direction = 'out' AND g.part = 'spent'), false) AS lacks_spent,
        coalesce(bool_or(g.volume_l IS NULL) FILTER (g.direction = 'out'), false) AS lacks_volume_out
    FROM derived.runs AS r
    JOIN derived.gauges AS g USING (run)
    LEFT JOIN derived.movements AS m
        ON m.source_id = g.source_id AND m.line = g.line AND m.run = g.run AND m.direction = g.direction AND m.lot = g.lot
        AND m.part = g.part AND m.vessel IS NOT DISTINCT FROM g.vessel
    WHERE r.stage NOT IN ('mash', 'ferment')
    GROUP BY ALL
),
known AS (
    SELECT * EXCLUDE (lacks_in, lacks_heads, lacks_hearts, lacks_tails, lacks_spent, lacks_volume_out) REPLACE (
        CASE WHEN NOT lacks_in THEN alcohol_in_l END AS alcohol_in_l,
        CASE WHEN NOT lacks_heads THEN heads_l END AS heads_l,
        CASE WHEN NOT lacks_hearts THEN hearts_l END AS hearts_l,
        CASE WHEN NOT lacks_tails THEN tails_l END AS tails_l,
        CASE WHEN NOT lacks_spent THEN spent_l END AS spent_l,
        CASE WHEN NOT lacks_volume_out THEN volume_out_l END AS volume_out_l,
        CASE WHEN NOT lacks_hearts THEN hearts_strength_pct_vol END AS hearts_strength_pct_vol
    )
    FROM sums
)
SELECT
    known.*,
    CASE WHEN alcohol_in_l IS NOT NULL THEN u_alcohol_in_l END AS u_alcohol_in_l,
    CASE WHEN alcohol_out_l IS NOT NULL THEN u_alcohol_out_l END AS u_alcohol_out_l,
    CASE WHEN hearts_l IS NOT NULL THEN u_hearts_l END AS u_hearts_l,
    CASE WHEN missing_gauges IS NULL THEN alcohol_in_l - alcohol_out_l END AS loss_l,
    CASE WHEN missing_gauges IS NULL AND alcohol_in_l - alcohol_out_l IS NOT NULL THEN u_loss_l END AS u_loss_l,
    hearts_l / nullif(alcohol_in_l, 0) AS recovery,
    CASE WHEN hearts_l / nullif(alcohol_in_l, 0) IS NOT NULL THEN u_recovery END AS u_recovery,
    CASE WHEN missing_gauges IS NULL THEN alcohol_out_l / nullif(alcohol_in_l, 0) END AS closure,
    CASE WHEN missing_gauges IS NULL THEN u_closure END AS u_closure
FROM known LEFT JOIN derived.run_uncertainties USING (run)
ORDER BY ended_at, run;

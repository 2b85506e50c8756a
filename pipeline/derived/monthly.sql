-- made from: derived.batch_yields, derived.bottlings, derived.ferment_yields, derived.run_balances, house_zone
-- The month's figures as ratios of sums; a run belongs to the month in which it ended. Runs that ended but lack a
-- figure are left out and counted. Standard error of a ratio of sums R = sum y / sum x over n runs:
-- sqrt(sum (y - R x)^2 / (n (n - 1))) / mean x (Cochran, Sampling Techniques, ch. 6, from memory).
INSERT INTO derived.monthly BY NAME
WITH pairs AS (
    SELECT 'yield_l_per_t' AS measure, NULL AS equipment, ended_at, alcohol_l AS y, grain_kg / 1000 AS x
    FROM derived.ferment_yields
    UNION ALL
    SELECT 'yield_against_prediction', NULL, ended_at, alcohol_l, predicted_alcohol_l FROM derived.ferment_yields
    UNION ALL
    SELECT stage || '_recovery', equipment, ended_at, hearts_l, alcohol_in_l
    FROM derived.run_balances WHERE stage IN ('strip', 'rectify', 'botanical')
    UNION ALL
    SELECT stage || '_closure', equipment, ended_at, CASE WHEN missing_gauges IS NULL THEN alcohol_out_l END, alcohol_in_l
    FROM derived.run_balances WHERE stage IN ('strip', 'rectify', 'botanical')
    UNION ALL
    SELECT 'grain_to_bottle', NULL, b.bottled_at, y.own_alcohol_l, y.predicted_alcohol_l
    FROM derived.batch_yields AS y JOIN derived.bottlings AS b USING (batch)
    UNION ALL
    SELECT 'bottling_loss', NULL, bottled_at, alcohol_in_l - alcohol_bottled_l, alcohol_in_l FROM derived.bottlings
),
dated AS (               -- the month by the house's own calendar, not by UTC
    SELECT measure, equipment, y, x,
           date_trunc('month', timezone(getvariable('house_zone'), timezone('UTC', ended_at)))::DATE AS month
    FROM pairs WHERE ended_at IS NOT NULL
),
runs AS (                -- each still by itself, and all together
    SELECT * FROM dated
    UNION ALL
    SELECT measure, NULL, y, x, month FROM dated WHERE equipment IS NOT NULL
),
sums AS (
    SELECT month, measure, equipment,
           sum(y) FILTER (x IS NOT NULL) AS numerator, sum(x) FILTER (y IS NOT NULL) AS denominator,
           count(*) FILTER (x IS NOT NULL AND y IS NOT NULL) AS runs,
           count(*) FILTER (x IS NULL OR y IS NULL) AS runs_left_out
    FROM runs GROUP BY ALL
)
SELECT s.*, numerator / nullif(denominator, 0) AS ratio,
       (SELECT CASE WHEN s.runs > 1 THEN
                   sqrt(sum((r.y - s.numerator / s.denominator * r.x) ** 2) / (s.runs * (s.runs - 1))) / (s.denominator / s.runs) END
        FROM runs AS r
        WHERE r.measure = s.measure AND r.equipment IS NOT DISTINCT FROM s.equipment
          AND r.month = s.month AND r.x IS NOT NULL AND r.y IS NOT NULL) AS u_ratio
FROM sums AS s
ORDER BY measure, equipment NULLS FIRST, month;

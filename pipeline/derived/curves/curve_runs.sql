-- One row a still run with a log: its log's files and stretch, its line of the run sheet, its gauges by part, and how
-- its loss compares. temp.log_blocks is made by log_blocks.sql.
WITH stretches AS (
    SELECT run, equipment, min(first_at) AS first_at, max(last_at) AS last_at FROM temp.log_blocks GROUP BY run, equipment
),
files AS (
    SELECT s.run, list(DISTINCT f.file ORDER BY f.file) AS files
    FROM stretches AS s
    JOIN typed.log_blocks AS b ON b.equipment = s.equipment AND b.first_at <= s.last_at AND b.last_at >= s.first_at
    JOIN typed.log_files AS f USING (source_id)
    GROUP BY s.run
),
cuts AS (
    SELECT *, CASE WHEN part IN ('foreshots', 'heads') THEN 'heads' WHEN part IN ('tails', 'feints') THEN 'tails'
                   WHEN part IN ('hearts', 'spirit') THEN 'hearts' ELSE part END AS cut
    FROM derived.gauges WHERE direction = 'out'
),
errors AS (             -- receivers gauged with one instrument share its error
    SELECT c.run, c.cut, e.error, sum(e.volume_l ORDER BY e.volume_l) AS volume_l, sum(e.alcohol_l ORDER BY e.alcohol_l) AS alcohol_l
    FROM cuts AS c JOIN derived.gauge_errors AS e USING (gauge) GROUP BY ALL
),
uncertainties AS (
    SELECT run, cut, sqrt(sum(volume_l ** 2 ORDER BY error)) AS u_volume_l, sqrt(sum(alcohol_l ** 2 ORDER BY error)) AS u_alcohol_l FROM errors GROUP BY ALL
),
parts AS (
    SELECT c.run, c.cut AS part, count(*) AS gauges, count(volume_l) AS volumes, count(alcohol_l) AS alcohols,
           any_value(strength_pct_vol) AS strength_pct_vol, sum(volume_l) AS volume_l, any_value(u.u_volume_l) AS u_volume_l,
           sum(alcohol_l) AS alcohol_l, any_value(u.u_alcohol_l) AS u_alcohol_l
    FROM cuts AS c LEFT JOIN uncertainties AS u ON u.run = c.run AND u.cut = c.cut
    GROUP BY c.run, c.cut
),
gauged AS (
    SELECT run, list(struct_pack(
               part := part,
               volume_l := CASE WHEN volumes = gauges THEN volume_l END, u_volume_l := CASE WHEN volumes = gauges THEN u_volume_l END,
               alcohol_l := CASE WHEN alcohols = gauges THEN alcohol_l END,
               u_alcohol_l := CASE WHEN alcohols = gauges THEN u_alcohol_l END,
               strength_pct_vol := CASE WHEN gauges = 1 THEN strength_pct_vol ELSE 100 * alcohol_l / nullif(volume_l, 0) END
           ) ORDER BY part) AS gauged
    FROM parts GROUP BY run
)
SELECT s.run, s.equipment, r.stage, coalesce(r.recipe, r.product, '') AS recipe, s.first_at, s.last_at, f.files,
       r.started_at, r.hearts_from, r.hearts_to, c.offset_min, g.gauged,
       100 * b.alcohol_in_l / nullif(b.volume_in_l, 0) AS charge_strength_pct_vol,
       coalesce(v.verdict = 'gains' OR v.loss_l - v.usual_loss_l > 3 * greatest(v.u_loss_l, v.u_usual_loss_l), false) AS is_unusual
FROM stretches AS s
JOIN files AS f USING (run)
JOIN derived.runs AS r USING (run)
LEFT JOIN derived.log_clocks AS c USING (run)
LEFT JOIN gauged AS g USING (run)
LEFT JOIN derived.run_balances AS b USING (run)
LEFT JOIN derived.run_verdicts AS v USING (run)
ORDER BY s.first_at, s.run

-- made from: derived.gauges, derived.lots, derived.run_balances, derived.run_uncertainties, derived.usual_losses
-- Does a run's alcohol balance, by significance: |loss| against twice its standard uncertainty (about 95 %). A balance
-- that could not have shown a loss of 2 % of the charge says nothing (2 %: common practice), and the gauge that makes most
-- of its uncertainty is named.
INSERT INTO derived.run_verdicts BY NAME
WITH limits AS (
    SELECT g.run, any_value(u.limiting_share) AS share,
           any_value(struct_pack(lot := g.lot, direction := g.direction, u := g.u_alcohol_l)) FILTER (g.gauge = u.limiting_gauge) AS worst,
           string_agg(g.lot || ': ' || g.not_computed, '; ' ORDER BY g.direction, g.lot, g.part) FILTER (g.not_computed IS NOT NULL) AS missing,
           first(g.lot ORDER BY g.direction, g.lot, g.part) FILTER (g.strength_is = 'apparent') AS apparent
    FROM derived.gauges AS g LEFT JOIN derived.run_uncertainties AS u USING (run) GROUP BY g.run
),
feints AS (             -- what came in from earlier runs' heads and tails, and what of this run's a later one drew
    SELECT g.run, coalesce(sum(g.alcohol_l) FILTER (g.direction = 'in' AND g.part IN ('foreshots', 'heads', 'tails', 'feints')), 0) AS in_l,
           coalesce(sum(g.alcohol_l) FILTER (g.direction = 'out' AND g.part IN ('foreshots', 'heads', 'tails', 'feints')
                                             AND l.drawn_by_runs > 0), 0) AS out_l
    FROM derived.gauges AS g LEFT JOIN derived.lots AS l USING (lot) GROUP BY g.run
),
masses AS (
    SELECT run, sum(mass_kg) FILTER (direction = 'in') AS mass_in_kg, sum(mass_kg) FILTER (direction = 'out') AS mass_out_kg,
           bool_and(mass_kg IS NOT NULL) FILTER (direction = 'in') AS all_in, bool_and(mass_kg IS NOT NULL) FILTER (direction = 'out') AS all_out
    FROM derived.gauges WHERE part <> 'packaging' GROUP BY run
)
SELECT b.run, b.stage, b.equipment, b.product, b.started_at, b.ended_at, b.alcohol_in_l, b.alcohol_out_l, b.loss_l, b.u_loss_l,
       u.fraction * b.alcohol_in_l AS usual_loss_l, u.scatter * b.alcohol_in_l AS u_usual_loss_l,
       f.in_l AS feints_in_l, f.out_l AS feints_out_l, 
       -- feints handed on are known only where every gauge is
       CASE WHEN b.missing_gauges IS NULL THEN b.hearts_l / nullif(b.alcohol_in_l - f.out_l, 0) END AS net_recovery,
       b.volume_in_l, b.volume_out_l,
       CASE WHEN m.all_in THEN m.mass_in_kg END AS mass_in_kg,
       CASE WHEN m.all_out THEN m.mass_out_kg END AS mass_out_kg,
       CASE WHEN b.loss_l IS NULL OR l.apparent IS NOT NULL THEN 'cannot tell'
            WHEN b.loss_l > 2 * b.u_loss_l THEN 'loses'
            WHEN b.loss_l < -2 * b.u_loss_l THEN 'gains'
            WHEN 2 * b.u_loss_l > 0.02 * b.alcohol_in_l THEN 'cannot tell'
            ELSE 'closes' END AS verdict,
       l.worst.lot AS limited_by_lot, l.worst.direction AS limited_by_direction, l.worst.u AS limiting_u_l,
       CASE WHEN b.u_loss_l IS NOT NULL THEN l.share END AS limiting_share,
       CASE WHEN b.loss_l IS NULL THEN coalesce(l.missing, 'nothing was gauged in or nothing out') END AS not_computed
FROM derived.run_balances AS b
JOIN limits AS l USING (run)
LEFT JOIN masses AS m USING (run)
LEFT JOIN feints AS f USING (run)
LEFT JOIN derived.usual_losses AS u ON u.of_what = 'run' AND u.kind = b.stage
ORDER BY b.ended_at, b.run;

-- made from: derived.gauge_errors, derived.gauges, derived.run_errors
-- Standard uncertainties of a run's sums, loss and ratios: what each error gives to the result is added up over the gauges,
-- with its sign, and only then squared (GUM, JCGM 100:2008, 5.2.2), so that an error common to what went in and what came
-- out cancels as far as it does.
INSERT INTO derived.run_uncertainties BY NAME
WITH sums AS (
    SELECT run, nullif(sum(alcohol_l ORDER BY alcohol_l) FILTER (direction = 'in'), 0) AS in_l, sum(alcohol_l ORDER BY alcohol_l) FILTER (direction = 'out') AS out_l,
           sum(alcohol_l ORDER BY alcohol_l) FILTER (direction = 'out' AND part IN ('hearts', 'spirit', 'liquid', 'bottles')) AS hearts_l
    FROM derived.gauges GROUP BY run
),
errors AS (
    SELECT run, error, coalesce(e.alcohol_in_l, 0) AS in_e, coalesce(e.alcohol_out_l, 0) AS out_e, coalesce(e.hearts_l, 0) AS hearts_e,
           s.in_l, s.out_l, s.hearts_l
    FROM derived.run_errors AS e JOIN sums AS s USING (run)
),
of_runs AS (
    SELECT run, sqrt(sum(in_e ** 2 ORDER BY error)) AS u_alcohol_in_l, sqrt(sum(out_e ** 2 ORDER BY error)) AS u_alcohol_out_l,
           sqrt(sum(hearts_e ** 2 ORDER BY error)) AS u_hearts_l, sqrt(sum((in_e - out_e) ** 2 ORDER BY error)) AS u_loss_l,
           sqrt(sum((hearts_e / in_l - hearts_l * in_e / in_l ** 2) ** 2 ORDER BY error)) AS u_recovery,
           sqrt(sum((out_e / in_l - out_l * in_e / in_l ** 2) ** 2 ORDER BY error)) AS u_closure
    FROM errors GROUP BY run
),
without AS (            -- by how much the variance of the loss would be less if one gauge had no error
    SELECT g.run, g.gauge, g.direction, g.lot,
           sum(2 * (x.in_e - x.out_e) * own.part - own.part ** 2 ORDER BY e.error) AS less
    FROM derived.gauges AS g JOIN derived.gauge_errors AS e USING (gauge) JOIN errors AS x ON x.run = g.run AND x.error = e.error
    CROSS JOIN LATERAL (SELECT CASE g.direction WHEN 'in' THEN e.alcohol_l ELSE -e.alcohol_l END AS part) AS own
    GROUP BY g.run, g.gauge, g.direction, g.lot
),
limits AS (
    SELECT run, first(gauge ORDER BY less DESC, direction, lot, gauge) AS gauge, max(less) AS less FROM without GROUP BY run
)
SELECT u.*, l.gauge AS limiting_gauge, l.less / nullif(u.u_loss_l ** 2, 0) AS limiting_share
FROM of_runs AS u LEFT JOIN limits AS l USING (run)
ORDER BY u.run;

-- Verdicts on the runs that ended in the month, by stage. Parameter: the first day of the month.
WITH ended AS (
    SELECT * FROM derived.run_verdicts
    WHERE date_trunc('month', timezone(getvariable('house_zone'), timezone('UTC', ended_at)))::DATE = $1
),
errors AS (             -- of the losses of a stage's runs together, by the instruments that they share
    SELECT r.stage, e.error, sum(coalesce(e.alcohol_in_l, 0) - coalesce(e.alcohol_out_l, 0) ORDER BY run) AS loss_l
    FROM ended AS r JOIN derived.run_errors AS e USING (run) WHERE r.loss_l IS NOT NULL GROUP BY r.stage, e.error
),
uncertainties AS (
    SELECT stage, sqrt(sum(loss_l ** 2 ORDER BY error)) AS u_loss_l FROM errors GROUP BY stage
)
SELECT stage, count(*) AS runs, sum(alcohol_in_l) AS alcohol_in_l, sum(loss_l) AS loss_l, any_value(u.u_loss_l) AS u_loss_l,
       count(*) FILTER (verdict = 'closes') AS closes, count(*) FILTER (verdict = 'loses') AS loses,
       count(*) FILTER (verdict = 'gains') AS gains, count(*) FILTER (verdict = 'cannot tell') AS cannot_tell,
       count(*) FILTER (loss_l IS NULL) AS not_computed,
       -- masses of the runs of which every part was weighed or can be reckoned from volume and strength
       sum(mass_in_kg) FILTER (mass_out_kg IS NOT NULL) AS mass_in_kg, sum(mass_in_kg - mass_out_kg) AS mass_lost_kg
FROM ended LEFT JOIN uncertainties AS u USING (stage)
GROUP BY stage
ORDER BY min(started_at), stage

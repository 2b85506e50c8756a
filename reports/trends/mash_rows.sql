-- What mash efficiency is worked out from: volume and gravity of the wort, extract fed by the certificates.
WITH worts AS (
    SELECT run, gauge, volume_l FROM derived.gauges WHERE direction = 'out' AND part = 'wort'
),
errors AS (
    SELECT w.run, e.error, sum(e.volume_l ORDER BY e.volume_l) AS volume_l FROM worts AS w JOIN derived.gauge_errors AS e USING (gauge) GROUP BY ALL
),
uncertainties AS (
    SELECT run, sqrt(sum(volume_l ** 2 ORDER BY error)) AS u_volume_l FROM errors GROUP BY run
)
SELECT y.mash_run AS run, coalesce(mash.ended_at, y.started_at) AS ended_at, y.extract_kg, y.original_gravity,
       wort.volume_l, u.u_volume_l, mash.equipment, mash.recipe, mash.operator, y.malt_lots
FROM derived.ferment_yields AS y
LEFT JOIN derived.runs AS mash ON mash.run = y.mash_run
LEFT JOIN (SELECT run, sum(volume_l) AS volume_l FROM worts GROUP BY run) AS wort ON wort.run = y.mash_run
LEFT JOIN uncertainties AS u ON u.run = y.mash_run
WHERE y.mash_run IS NOT NULL AND coalesce(mash.ended_at, y.started_at) IS NOT NULL
ORDER BY ended_at, run;

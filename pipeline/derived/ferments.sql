-- One row a ferment run: what was mashed for it, the gravities, and the wash that came out.
WITH worts AS (         -- once, in however many gauges a ferment drew it
    SELECT DISTINCT g.run, g.lot AS wort_lot, m.run AS mash_run
    FROM derived.gauges AS g
    LEFT JOIN (SELECT DISTINCT lot, run FROM derived.gauges WHERE direction = 'out' AND part = 'wort') AS m USING (lot)
    WHERE g.direction = 'in' AND g.part = 'wort' AND g.stage = 'ferment'
),
mashes AS (
    SELECT w.run, string_agg(DISTINCT w.mash_run, ', ' ORDER BY w.mash_run) AS mash_run,
           min(w.wort_lot) AS wort_lot, max(c.fermentability) AS fermentability
    FROM worts AS w
    LEFT JOIN derived.runs AS r ON r.run = w.mash_run
    LEFT JOIN derived.house_recipes AS c ON c.name = r.recipe
    GROUP BY w.run
),
wort_volumes AS (
    SELECT w.run, sum(g.volume_l) AS wort_volume_l
    FROM worts AS w JOIN derived.gauges AS g ON g.lot = w.wort_lot AND g.run = w.mash_run AND g.direction = 'out'
    GROUP BY w.run
),
grain AS (              -- extract is unknown (NULL) as soon as one lot has no certificate
    SELECT w.run, sum(g.mass_kg) AS grain_kg,
           CASE WHEN count(*) = count(i.extract_pct)
                THEN sum(g.mass_kg * i.extract_pct / 100 * (1 - coalesce(i.moisture_pct, 0) / 100)) END AS extract_kg,
           list(DISTINCT g.lot ORDER BY g.lot) AS malt_lots
    FROM (SELECT DISTINCT run, mash_run FROM worts) AS w
    JOIN derived.gauges AS g ON g.run = w.mash_run AND g.direction = 'in' AND g.part IN ('grain', 'fruit')
    LEFT JOIN (
        SELECT lot, min(extract_pct) AS extract_pct, max(moisture_pct) AS moisture_pct FROM derived.openings GROUP BY lot
    ) AS i USING (lot)
    GROUP BY w.run
),
washes AS (
    SELECT g.run, min(g.lot) AS wash_lot, sum(g.volume_l) AS wash_volume_l, sum(g.alcohol_l) AS alcohol_l,
           CASE WHEN sum(g.alcohol_l) IS NOT NULL THEN any_value(u.u_alcohol_out_l) END AS u_alcohol_l
    FROM derived.gauges AS g LEFT JOIN derived.run_uncertainties AS u USING (run)
    WHERE g.direction = 'out' AND g.part = 'wash' AND g.stage = 'ferment'
    GROUP BY g.run
),
gravities AS (
    SELECT lot, value FROM derived.laboratory WHERE analyte = 'specific_gravity' AND unit = 'sg'
)
SELECT
    r.run, m.mash_run, w.wash_lot, r.equipment, r.started_at, r.ended_at, g.grain_kg, g.extract_kg, g.malt_lots,
    m.fermentability, v.wort_volume_l, og.value AS original_gravity, fg.value AS final_gravity,
    w.wash_volume_l, 100 * w.alcohol_l / nullif(w.wash_volume_l, 0) AS wash_strength_pct_vol, w.alcohol_l, w.u_alcohol_l
FROM derived.runs AS r
LEFT JOIN mashes AS m USING (run)
LEFT JOIN wort_volumes AS v USING (run)
LEFT JOIN grain AS g USING (run)
LEFT JOIN washes AS w USING (run)
LEFT JOIN gravities AS og ON og.lot = m.wort_lot
LEFT JOIN gravities AS fg ON fg.lot = w.wash_lot
WHERE r.stage = 'ferment'
ORDER BY r.ended_at, r.run

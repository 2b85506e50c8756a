-- One row a ferment run: what was mashed for it or fed to it, the gravities, and the wash that came out.
WITH wort_lots AS (          -- what each mash made, as a part of all wort that it made
    SELECT run AS mash_run, lot, volume_l, volume_l / nullif(sum(volume_l) OVER (PARTITION BY run), 0) AS part_of_mash,
           count(*) OVER (PARTITION BY run) AS lots
    FROM (SELECT run, lot, sum(volume_l ORDER BY volume_l) AS volume_l FROM derived.gauges
          WHERE direction = 'out' AND part = 'wort' GROUP BY run, lot)
),
worts AS (              -- what each ferment drew of it, as a part of all that was drawn
    SELECT d.run, d.lot AS wort_lot, m.mash_run, m.volume_l, CASE WHEN d.ferments = 1 THEN 1 ELSE d.part_of_lot END AS drawn,
           drawn * CASE WHEN m.lots = 1 THEN 1 ELSE m.part_of_mash END AS part
    FROM (SELECT run, lot, volume_l / nullif(sum(volume_l) OVER (PARTITION BY lot), 0) AS part_of_lot,
                 count(*) OVER (PARTITION BY lot) AS ferments
          FROM (SELECT run, lot, sum(volume_l ORDER BY volume_l) AS volume_l FROM derived.gauges
                WHERE direction = 'in' AND part = 'wort' AND stage = 'ferment' GROUP BY run, lot)) AS d
    LEFT JOIN wort_lots AS m ON m.lot = d.lot
),
mashes AS (
    SELECT run, string_agg(DISTINCT mash_run, ', ' ORDER BY mash_run) AS mash_run, min(wort_lot) AS wort_lot,
           sum(volume_l * drawn ORDER BY wort_lot, mash_run) AS wort_volume_l
    FROM worts GROUP BY run
),
fed AS (                -- through its mashes, and directly
    SELECT DISTINCT run, mash_run AS source, sum(part) OVER (PARTITION BY run, mash_run) AS part FROM worts WHERE mash_run IS NOT NULL
    UNION ALL SELECT DISTINCT run, run, 1 FROM derived.mash_bill WHERE stage = 'ferment'
),
grain AS (              -- what one lot does not say is not known of the whole
    SELECT f.run, list(DISTINCT b.lot ORDER BY b.lot) AS malt_lots,
           CASE WHEN count(b.mass_kg) = count(*) THEN sum(f.part * b.mass_kg ORDER BY b.run, b.lot) END AS grain_kg,
           CASE WHEN count(b.extract_kg) = count(*) THEN sum(f.part * b.extract_kg ORDER BY b.run, b.lot) END AS extract_kg,
           CASE WHEN count(b.fermentable_kg) = count(*) THEN sum(f.part * b.fermentable_kg ORDER BY b.run, b.lot) END AS fermentable_kg,
           CASE WHEN count(b.possible_alcohol_l) = count(*) THEN sum(f.part * b.possible_alcohol_l ORDER BY b.run, b.lot) END
               AS possible_alcohol_l,
           CASE WHEN count(b.predicted_alcohol_l) = count(*) THEN sum(f.part * b.predicted_alcohol_l ORDER BY b.run, b.lot) END
               AS predicted_alcohol_l
    FROM fed AS f JOIN derived.mash_bill AS b ON b.run = f.source
    GROUP BY f.run
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
    r.run, m.mash_run, w.wash_lot, r.equipment, r.started_at, r.ended_at, g.grain_kg, g.extract_kg, g.fermentable_kg,
    g.possible_alcohol_l, g.predicted_alcohol_l, g.malt_lots, m.wort_volume_l, og.value AS original_gravity, fg.value AS final_gravity,
    w.wash_volume_l, 100 * w.alcohol_l / nullif(w.wash_volume_l, 0) AS wash_strength_pct_vol, w.alcohol_l, w.u_alcohol_l
FROM derived.runs AS r
LEFT JOIN mashes AS m USING (run)
LEFT JOIN grain AS g USING (run)
LEFT JOIN washes AS w USING (run)
LEFT JOIN gravities AS og ON og.lot = m.wort_lot
LEFT JOIN gravities AS fg ON fg.lot = w.wash_lot
WHERE r.stage = 'ferment'
ORDER BY r.ended_at, r.run

-- made from: derived.runs, derived.bottlings, derived.ferment_yields, derived.lineage
-- Grain to bottle: what each batch consumed of the grain behind it, and what the extract of that grain promised.
INSERT INTO derived.batch_yields BY NAME
WITH grain AS (
    SELECT l.batch, sum(l.consumed) AS grain_kg, min(r.started_at) AS first_mashed
    FROM derived.lineage AS l JOIN derived.runs AS r USING (run)
    WHERE l.stage = 'mash' AND l.share IS NOT NULL
    GROUP BY l.batch
),
promised AS (           -- the part of each wash that the batch consumed, times what its mash promised
    SELECT l.batch,
           CASE WHEN count(*) = count(f.predicted_alcohol_l)
                THEN sum(f.predicted_alcohol_l * l.consumed / nullif(f.alcohol_l, 0)) END AS predicted_alcohol_l
    FROM derived.lineage AS l LEFT JOIN derived.ferment_yields AS f ON f.wash_lot = l.lot
    WHERE l.stage = 'strip' AND l.share IS NOT NULL
    GROUP BY l.batch
)
SELECT b.batch, g.grain_kg, p.predicted_alcohol_l, b.alcohol_bottled_l,
       1000 * b.alcohol_bottled_l / nullif(g.grain_kg, 0) AS yield_l_per_t,
       b.alcohol_bottled_l / nullif(p.predicted_alcohol_l, 0) AS grain_to_bottle,
       epoch(b.bottled_at - g.first_mashed) / 86400 AS days_grain_to_bottle
FROM derived.bottlings AS b
LEFT JOIN grain AS g USING (batch)
LEFT JOIN promised AS p USING (batch)
ORDER BY b.batch;

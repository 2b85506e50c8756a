-- made from: derived.runs, derived.bottlings, derived.batch_bill, derived.ferment_yields, derived.lineage, derived.lot_origins
-- Grain, fruit or sugar to bottle: what each batch consumed of it and what that promised, against the alcohol bottled that was
-- fermented here. Spirit that was bought in, or stood there when the book was begun, has no material on record: it counts
-- neither above nor below.
INSERT INTO derived.batch_yields BY NAME
WITH grain AS (
    SELECT batch, CASE WHEN count(mass_kg) = count(*) THEN sum(mass_kg ORDER BY lot) END AS grain_kg
    FROM derived.batch_bill WHERE origin = 'fermented' GROUP BY batch
),
mashed AS (
    SELECT l.batch, min(r.started_at) AS first_mashed
    FROM derived.lineage AS l JOIN derived.runs AS r USING (run)
    WHERE l.stage IN ('mash', 'ferment') AND l.share IS NOT NULL
    GROUP BY l.batch
),
promised AS (           -- the part of each wash that the batch consumed, times what its material promised
    SELECT l.batch,
           CASE WHEN count(*) = count(f.predicted_alcohol_l)
                THEN sum(f.predicted_alcohol_l * l.consumed / nullif(f.alcohol_l, 0)) END AS predicted_alcohol_l
    FROM derived.lineage AS l JOIN derived.ferment_yields AS f ON f.wash_lot = l.lot
    WHERE l.stage <> 'ferment' AND l.share IS NOT NULL
    GROUP BY l.batch
)
SELECT b.batch, g.grain_kg, p.predicted_alcohol_l, b.alcohol_bottled_l, o.own_share, o.bought_share, o.opening_share,
       b.alcohol_bottled_l * o.own_share AS own_alcohol_l,
       1000 * own_alcohol_l / nullif(g.grain_kg, 0) AS yield_l_per_t,
       own_alcohol_l / nullif(p.predicted_alcohol_l, 0) AS grain_to_bottle,
       epoch(b.bottled_at - m.first_mashed) / 86400 AS days_grain_to_bottle
FROM derived.bottlings AS b
LEFT JOIN derived.lot_origins AS o ON o.lot = b.batch
LEFT JOIN grain AS g USING (batch)
LEFT JOIN mashed AS m USING (batch)
LEFT JOIN promised AS p USING (batch)
ORDER BY b.batch;

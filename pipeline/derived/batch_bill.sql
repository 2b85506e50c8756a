-- made from: derived.lineage, derived.mash_bill, derived.openings
-- What each batch's alcohol is from: lots of grain, fruit and sugar by what of them stands behind it, and spirit or wash that was
-- bought or stood there by its share of the batch's alcohol.
INSERT INTO derived.batch_bill BY NAME
WITH fermented AS (     -- the part of each charge that the batch consumed
    SELECT l.batch, b.lot, min(b.material) AS material, min(b.kind) AS kind, min(b.basis) AS basis, min(b.not_known) AS not_known,
           CASE WHEN count(b.mass_kg) = count(*) THEN sum(b.mass_kg * l.part ORDER BY b.run) END AS mass_kg,
           CASE WHEN count(b.predicted_alcohol_l) = count(*) THEN sum(b.predicted_alcohol_l * l.part ORDER BY b.run) END AS predicted_alcohol_l
    FROM (SELECT batch, run, lot, sum(consumed ORDER BY into_lot) / nullif(max(quantity), 0) AS part
          FROM derived.lineage WHERE stage IN ('mash', 'ferment') GROUP BY batch, run, lot) AS l
    JOIN derived.mash_bill AS b ON b.run = l.run AND b.lot = l.lot
    GROUP BY l.batch, b.lot
),
came AS (
    SELECT lot, min(material) AS material, min(kind) AS kind, min(origin) AS origin,
           sum(alcohol_l) / nullif(sum(volume_l), 0) * 100 AS strength_pct_vol
    FROM derived.openings WHERE carries_alcohol GROUP BY lot
),
spirit AS (
    SELECT l.batch, c.lot, c.material, c.kind, CASE c.origin WHEN 'received' THEN 'bought' ELSE 'opening' END AS origin,
           CASE WHEN count(l.share) = count(*) THEN sum(l.share ORDER BY l.run, l.into_lot) END AS alcohol_share, c.strength_pct_vol
    FROM derived.lineage AS l JOIN came AS c ON c.lot = l.lot
    GROUP BY ALL
)
SELECT batch, lot, material, kind, 'fermented' AS origin, basis, mass_kg, predicted_alcohol_l, not_known,
       mass_kg / nullif(CASE WHEN count(mass_kg) OVER whole = count(*) OVER whole THEN sum(mass_kg) OVER whole END, 0) AS share,
       predicted_alcohol_l / nullif(CASE WHEN count(predicted_alcohol_l) OVER whole = count(*) OVER whole
                                         THEN sum(predicted_alcohol_l) OVER whole END, 0) AS predicted_share,
       NULL AS alcohol_share, NULL AS strength_pct_vol
FROM fermented WINDOW whole AS (PARTITION BY batch)
UNION ALL BY NAME
SELECT batch, lot, material, kind, origin, alcohol_share, strength_pct_vol FROM spirit
ORDER BY batch, origin, lot

-- What runs drew and made, one row a run, direction and lot. A sum of which a part is not known is not known.
SELECT g.run, g.direction, g.lot, coalesce(l.basis, 'LPA') AS basis,
       CASE WHEN bool_and(g.pieces IS NOT NULL) THEN sum(g.pieces) END AS pieces,
       CASE WHEN bool_and(g.alcohol_l IS NOT NULL) THEN sum(g.alcohol_l ORDER BY g.gauge) END AS alcohol_l,
       CASE WHEN bool_and(g.volume_l IS NOT NULL) THEN sum(g.volume_l ORDER BY g.gauge) END AS volume_l,
       CASE WHEN bool_and(g.mass_kg IS NOT NULL) THEN sum(g.mass_kg ORDER BY g.gauge) END AS mass_kg
FROM derived.gauges AS g LEFT JOIN derived.lots AS l USING (lot)
GROUP BY g.run, g.direction, g.lot, l.basis
ORDER BY g.run, g.direction, g.lot

-- What befell lots outside of runs. A bottled batch is the output of its run; only where no gauge of a run gives it does the
-- bottling record stand for itself.
WITH every AS (
    SELECT o.origin AS kind, o.came_at AS at, o.vessel, i.supplier AS party, NULL AS document, o.lot,
           o.pieces, CASE WHEN o.carries_alcohol THEN o.alcohol_l END AS alcohol_l, o.volume_l, o.mass_kg, o.source_id, o.line
    FROM derived.openings AS o LEFT JOIN typed.intake AS i
      ON o.origin = 'received' AND i.lot = o.lot AND i.source_id = o.source_id AND i.line = o.line
    UNION ALL
    SELECT kind, removed_at, vessel, to_whom, document, lot, pieces, alcohol_l, volume_l, NULL, source_id, line FROM derived.removals
    UNION ALL
    SELECT 'bottled', bottled_at, NULL, NULL, NULL, lot, bottles_filled, NULL, NULL, NULL, source_id, line FROM typed.bottling
    WHERE lot NOT IN (SELECT lot FROM derived.gauges WHERE direction = 'out')
)
SELECT e.kind, e.at, e.vessel, e.party, e.document, e.lot, coalesce(l.basis, 'LPA') AS basis, e.pieces, e.alcohol_l, e.volume_l, e.mass_kg
FROM every AS e LEFT JOIN derived.lots AS l USING (lot)
ORDER BY e.at, e.kind, e.lot, e.vessel, e.document, e.source_id, e.line

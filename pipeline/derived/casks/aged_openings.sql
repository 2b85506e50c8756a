-- Lots with alcohol that were received or stood there when the book was begun, with the day from which their age counts.
SELECT o.lot, o.kind, CASE WHEN o.lot = o.vessel || '/1' THEN o.vessel END AS cask,
       max(timezone(getvariable('house_zone'), timezone('UTC', o.came_at))::DATE) AS came_on,
       max(timezone(getvariable('house_zone'), timezone('UTC', t.aged_from))::DATE) AS aged_from
FROM derived.openings AS o
LEFT JOIN typed.opening_stock AS t ON t.source_id = o.source_id AND t.line = o.line AND o.origin = 'opening'
WHERE o.carries_alcohol
GROUP BY ALL
ORDER BY ALL

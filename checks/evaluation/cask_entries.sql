-- Fillings of casks of which nothing is bottled yet, with the strength at which new spirit went in, the day, and the
-- product that its run names. Spirit out of another cask is none: it may have risen in strength there. What is bottled the
-- claims of its batch answer for.
SELECT g.lot AS contents, max(g.alcohol_l) AS alcohol_l, max(g.strength_pct_vol) AS entry_pct_vol,
       max_by(g.u_strength_pct_vol, g.strength_pct_vol) AS u_entry_pct_vol,
       min(timezone(getvariable('house_zone'), timezone('UTC', coalesce(g.gauged_at, r.ended_at, r.started_at)))::DATE) AS filled_on,
       max(r.product) AS product, max_by(g.source_id, g.strength_pct_vol) AS source_id, max_by(g.line, g.strength_pct_vol) AS line
FROM (SELECT DISTINCT contents, run, happened_at FROM derived.cask_events WHERE event = 'filled' AND other_cask IS NULL) AS e
JOIN derived.gauges AS g ON g.lot = e.contents AND g.run = e.run AND g.gauged_at = e.happened_at AND g.direction = 'out'
JOIN derived.runs AS r ON r.run = g.run
WHERE g.lot NOT IN (SELECT lot FROM derived.ancestor_lots)
GROUP BY g.lot
HAVING bool_and(g.strength_pct_vol IS NOT NULL)
ORDER BY g.lot

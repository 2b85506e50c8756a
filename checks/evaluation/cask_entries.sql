-- Fillings of casks of which nothing is bottled yet, with the strength at which new spirit went in, the day, and what says
-- what it is meant for: the product that its run names, or the material of the opening stock. Spirit out of another cask is
-- not new: it may have risen in strength there. What is bottled the claims of its batch answer for.
WITH went_in AS (
    SELECT g.lot AS contents, g.alcohol_l, g.strength_pct_vol, g.u_strength_pct_vol, r.product, NULL AS material,
           coalesce(g.gauged_at, r.ended_at, r.started_at) AS filled_at, g.source_id, g.line
    FROM (SELECT DISTINCT contents, run, happened_at FROM derived.cask_events WHERE event = 'filled' AND other_cask IS NULL) AS e
    JOIN derived.gauges AS g ON g.lot = e.contents AND g.run = e.run AND g.gauged_at = e.happened_at AND g.direction = 'out'
    JOIN derived.runs AS r ON r.run = g.run
    UNION ALL               -- of the opening stock only what was gauged on the day from which its age counts
    SELECT o.lot, o.alcohol_l, o.strength_pct_vol, o.u_strength_pct_vol, NULL, o.material, t.aged_from, o.source_id, o.line
    FROM derived.openings AS o JOIN typed.opening_stock AS t USING (source_id, line)
    WHERE o.origin = 'opening' AND o.lot = o.vessel || '/1' AND t.counted_at = t.aged_from
)
SELECT contents, max(alcohol_l) AS alcohol_l, max(strength_pct_vol) AS entry_pct_vol,
       max_by(u_strength_pct_vol, strength_pct_vol) AS u_entry_pct_vol,
       min(timezone(getvariable('house_zone'), timezone('UTC', filled_at))::DATE) AS filled_on,
       max(product) AS product, max(material) AS material, max_by(source_id, strength_pct_vol) AS source_id, max_by(line, strength_pct_vol) AS line
FROM went_in
WHERE contents NOT IN (SELECT lot FROM derived.ancestor_lots)
GROUP BY contents
HAVING bool_and(strength_pct_vol IS NOT NULL)
ORDER BY contents

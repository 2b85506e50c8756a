-- The fillings of casks behind each batch, with what the register and the gauges say of each.
WITH out_of_casks AS (  -- what a cask was topped or filled with out of another: it may have risen in strength there
    SELECT DISTINCT contents AS lot, run, happened_at FROM derived.cask_events WHERE event = 'filled' AND other_cask IS NOT NULL
),
went_in AS (            -- of the opening stock only what was gauged on the day from which its age counts
    SELECT lot, strength_pct_vol, u_strength_pct_vol FROM derived.gauges AS g
    ANTI JOIN out_of_casks AS o ON o.lot = g.lot AND o.run = g.run AND o.happened_at = g.gauged_at
    WHERE direction = 'out'
    UNION ALL
    SELECT o.lot, o.strength_pct_vol, o.u_strength_pct_vol
    FROM derived.openings AS o JOIN typed.opening_stock AS t USING (source_id, line)
    WHERE o.origin = 'opening' AND t.counted_at = t.aged_from
),
entered AS (            -- strength at which new spirit went in
    SELECT lot, max(strength_pct_vol) AS entry_pct_vol,
           max_by(u_strength_pct_vol, strength_pct_vol) AS u_entry_pct_vol,
           bool_and(strength_pct_vol IS NOT NULL) AS is_known
    FROM went_in GROUP BY lot
)
SELECT a.batch, f.contents, f.filling, c.wood, c.treatment, c.former_contents, c.nominal_l,
       CASE WHEN e.is_known THEN e.entry_pct_vol END AS entry_pct_vol, e.u_entry_pct_vol,
       e.lot IS NOT NULL OR f.contents NOT IN (SELECT lot FROM out_of_casks) AS took_new_spirit
FROM derived.ancestor_lots AS a
JOIN (
    SELECT DISTINCT contents, cask, filling FROM derived.cask_events
    UNION SELECT lot, vessel, 1 FROM derived.openings WHERE lot = vessel || '/1'
) AS f ON f.contents = a.lot
LEFT JOIN typed.casks AS c USING (cask) LEFT JOIN entered AS e ON e.lot = f.contents
ORDER BY a.batch, f.contents

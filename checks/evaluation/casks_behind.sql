-- The fillings of casks behind each batch, with what the register and the gauges say of each.
WITH entered AS (       -- strength at which new spirit went in; of the opening stock it is not told
    SELECT lot, max(strength_pct_vol) AS entry_pct_vol,
           max_by(u_strength_pct_vol, strength_pct_vol) AS u_entry_pct_vol,
           bool_and(strength_pct_vol IS NOT NULL) AS is_known
    FROM derived.gauges WHERE direction = 'out' GROUP BY lot
)
SELECT a.batch, f.contents, f.filling, c.wood, c.treatment, c.former_contents, c.nominal_l,
       CASE WHEN e.is_known THEN e.entry_pct_vol END AS entry_pct_vol, e.u_entry_pct_vol
FROM derived.ancestor_lots AS a
JOIN (
    SELECT DISTINCT contents, cask, filling FROM derived.cask_events
    UNION SELECT lot, vessel, 1 FROM derived.openings WHERE lot = vessel || '/1'
) AS f ON f.contents = a.lot
LEFT JOIN typed.casks AS c USING (cask) LEFT JOIN entered AS e ON e.lot = f.contents
ORDER BY a.batch, f.contents

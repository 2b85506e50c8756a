-- The fillings of casks behind a batch, with what the register, the gauges and the rates of casks like them say.
SELECT f.contents, f.cask, c.cooperage, c.wood, c.treatment, c.char_level, c.former_contents, c.nominal_l,
       f.filled_at, e.emptied_at, g.strength_pct_vol AS entry_strength_pct_vol, g.alcohol_l AS filled_l, g.u_alcohol_l AS u_filled_l,
       l.loss_l AS lost_l, l.u_loss_l AS u_lost_l, v.per_year, v.u_per_year, v.like_it, v.usual_per_year, v.u_usual_per_year, v.scatter_per_year, coalesce(v.is_outlier, false) AS is_outlier,
       a.years, a.months, a.days, a.not_known
FROM (                  -- one that stood there when the book began may have been topped since
    SELECT contents, cask, min(filled_at) AS filled_at FROM (
        SELECT contents, cask, happened_at AS filled_at FROM derived.cask_events WHERE event = 'filled'
        UNION ALL SELECT lot, vessel, came_at FROM derived.openings WHERE lot = vessel || '/1'
    ) GROUP BY contents, cask
) AS f
SEMI JOIN (SELECT lot FROM derived.ancestor_lots WHERE batch = $batch) AS b ON b.lot = f.contents
LEFT JOIN typed.casks AS c ON c.cask = f.cask
LEFT JOIN (SELECT contents, min(happened_at) AS emptied_at FROM derived.cask_events WHERE event = 'emptied' GROUP BY contents) AS e USING (contents)
LEFT JOIN (
    SELECT lot, sum(alcohol_l) AS alcohol_l, sqrt(sum(u_alcohol_l ** 2)) AS u_alcohol_l, max(strength_pct_vol) AS strength_pct_vol FROM (
        SELECT lot, alcohol_l, u_alcohol_l, strength_pct_vol FROM derived.gauges WHERE direction = 'out'
        UNION ALL SELECT lot, alcohol_l, u_alcohol_l, strength_pct_vol FROM derived.openings
    ) GROUP BY lot
) AS g ON g.lot = f.contents
LEFT JOIN (
    SELECT contents, sum(loss_l) AS loss_l, sqrt(sum(u_loss_l ** 2)) AS u_loss_l FROM derived.cask_losses GROUP BY contents
    HAVING bool_and(loss_l IS NOT NULL)
) AS l USING (contents)
LEFT JOIN derived.evaporation AS v USING (contents)
LEFT JOIN derived.ages AS a ON a.lot = f.contents
ORDER BY f.contents

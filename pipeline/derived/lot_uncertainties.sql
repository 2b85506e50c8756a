-- made from: derived.gauge_errors, derived.gauges, derived.openings, derived.removals
-- Standard uncertainties of what a lot held, of what was drawn of it and of what remains, by the errors that the gauges share:
-- a tank's calibration that made the lot seem too much made each draw from that tank seem too much as well.
INSERT INTO derived.lot_uncertainties BY NAME
WITH errors AS (
    SELECT g.lot, e.error,
           coalesce(sum(e.alcohol_l ORDER BY e.alcohol_l) FILTER (g.direction = 'out'), 0) AS alcohol_in, coalesce(sum(e.alcohol_l ORDER BY e.alcohol_l) FILTER (g.direction = 'in'), 0) AS alcohol_out,
           coalesce(sum(e.volume_l ORDER BY e.volume_l) FILTER (g.direction = 'out'), 0) AS volume_in, coalesce(sum(e.volume_l ORDER BY e.volume_l) FILTER (g.direction = 'in'), 0) AS volume_out
    FROM (
        SELECT gauge, lot, direction FROM derived.gauges UNION ALL SELECT gauge, lot, 'out' FROM derived.openings
        UNION ALL SELECT gauge, lot, CASE kind WHEN 'returned' THEN 'out' ELSE 'in' END FROM derived.removals WHERE NOT is_bottled
    ) AS g JOIN derived.gauge_errors AS e USING (gauge)
    GROUP BY g.lot, e.error
)
SELECT lot, sqrt(sum(alcohol_in ** 2 ORDER BY error)) AS u_alcohol_in_l, sqrt(sum(alcohol_out ** 2 ORDER BY error)) AS u_alcohol_out_l,
       sqrt(sum((alcohol_in - alcohol_out) ** 2 ORDER BY error)) AS u_alcohol_remaining_l,
       sqrt(sum(volume_in ** 2 ORDER BY error)) AS u_volume_in_l, sqrt(sum(volume_out ** 2 ORDER BY error)) AS u_volume_out_l,
       sqrt(sum((volume_in - volume_out) ** 2 ORDER BY error)) AS u_volume_remaining_l
FROM errors
GROUP BY lot
ORDER BY lot;

-- One row a filling of a cask: how full it was made, what it lost beside casks like it, and what it seemed to gain.
WITH poured AS (
    SELECT g.lot AS contents, g.vessel AS cask, sum(g.volume_l) AS volume_l, bool_and(g.volume_l IS NOT NULL) AS is_known,
           first(g.source_id ORDER BY g.gauged_at, g.source_id, g.line) AS source_id, first(g.line ORDER BY g.gauged_at, g.source_id, g.line) AS line
    FROM derived.gauges AS g
    WHERE g.direction = 'out' AND g.lot IN (SELECT contents FROM derived.cask_events)
    GROUP BY g.lot, g.vessel
),
put_in AS (             -- what stood in it and what was filled in, each with the day from which it evaporates
    SELECT g.lot AS contents, g.gauged_at AS put_at, g.gauged_at AS since, g.volume_l, g.u_volume_l, g.gauge, true AS is_filling
    FROM derived.gauges AS g WHERE g.direction = 'out' AND g.lot IN (SELECT contents FROM poured WHERE is_known)
    UNION ALL
    SELECT o.lot, o.came_at, least(o.came_at, t.aged_from), o.volume_l, coalesce(o.u_volume_l, 0), o.gauge, false
    FROM derived.openings AS o JOIN typed.opening_stock AS t USING (source_id, line)
    WHERE o.origin = 'opening' AND o.volume_l IS NOT NULL AND o.lot IN (SELECT contents FROM poured WHERE is_known)
),
taken AS (
    SELECT lot AS contents, gauged_at AS taken_at, volume_l FROM derived.gauges WHERE direction = 'in'
    UNION ALL SELECT lot, removed_at, volume_l FROM derived.removals WHERE kind <> 'returned' AND NOT is_bottled
),
full_at AS (            -- the least that it can have held after each filling, were it to lose 15 % a year
    SELECT f.contents, f.put_at, sum(p.volume_l * exp(-0.15 * date_diff('hour', p.since, f.put_at) / 8766) ORDER BY p.gauge)
               - coalesce((SELECT sum(t.volume_l ORDER BY t.taken_at) FROM taken AS t WHERE t.contents = f.contents AND t.taken_at <= f.put_at), 0) AS volume_l,
           sum(p.u_volume_l ORDER BY p.gauge) AS u_volume_l
    FROM (SELECT DISTINCT contents, put_at FROM put_in WHERE is_filling) AS f JOIN put_in AS p ON p.contents = f.contents AND p.put_at <= f.put_at
    GROUP BY f.contents, f.put_at
),
fullest AS (
    SELECT contents, max(volume_l) AS volume_l, max_by(u_volume_l, volume_l) AS u_volume_l FROM full_at GROUP BY contents
),
least AS (              -- the loss that is furthest below nothing
    SELECT contents, cask, min_by(loss_l, loss_l / nullif(u_loss_l, 0)) AS loss_l, min_by(u_loss_l, loss_l / nullif(u_loss_l, 0)) AS u_loss_l,
           min_by(strftime(timezone(getvariable('house_zone'), timezone('UTC', to_at)), '%Y-%m-%d'), loss_l / nullif(u_loss_l, 0)) AS found_on
    FROM derived.cask_losses
    WHERE loss_l IS NOT NULL    -- what was never filled holds nothing that it could gain: rule cask-holds
      AND contents IN (SELECT contents FROM derived.cask_events WHERE event = 'filled' UNION SELECT lot FROM derived.openings)
    GROUP BY contents, cask
),
named AS (
    SELECT contents, cask FROM derived.cask_events SEMI JOIN poured USING (contents)
    UNION SELECT contents, cask FROM derived.evaporation UNION SELECT contents, cask FROM least
)
SELECT
    'cask ' || n.cask || ', filling ' || substr(n.contents, length(n.cask) + 2) AS record, n.contents AS lot,
    n.cask AS equipment, coalesce(p.source_id, x.source_id) AS source_id, coalesce(p.line, x.line) AS line,
    concat_ws(', ', v.like_it, CASE WHEN v.casks IS NOT NULL THEN v.casks || ' casks' END, l.found_on) AS note,
    d.volume_l / nullif(c.nominal_l, 0) AS filled_of_size, coalesce(d.u_volume_l, 0) / nullif(c.nominal_l, 0) AS u_filled_of_size,
    -- a draw, a leak or a sample that the wood gave back is none: beyond four of its standard uncertainties it is
    l.loss_l AS least_loss_l, l.u_loss_l AS u_least_loss_l,
    v.per_year AS evaporation_per_year, v.u_per_year AS u_evaporation_per_year, v.usual_per_year,
    -- the span in which chance leaves a cask like the others
    v.usual_per_year + v.critical * sqrt(v.scatter_per_year ** 2 + v.u_per_year ** 2 + v.u_usual_per_year ** 2) AS most_per_year,
    v.usual_per_year - v.critical * sqrt(v.scatter_per_year ** 2 + v.u_per_year ** 2 + v.u_usual_per_year ** 2) AS least_per_year
FROM named AS n LEFT JOIN poured AS p USING (contents) LEFT JOIN fullest AS d USING (contents) LEFT JOIN least AS l USING (contents)
LEFT JOIN derived.evaporation AS v USING (contents)
LEFT JOIN (SELECT cask, max(nominal_l) AS nominal_l FROM typed.casks GROUP BY cask) AS c ON c.cask = n.cask
LEFT JOIN (SELECT contents, min(source_id) AS source_id, min(line) AS line FROM derived.cask_losses GROUP BY contents) AS x USING (contents)
ORDER BY n.contents

-- Every cask that holds something by the book: what it is, since when, what is left, and what it loses beside casks like it;
-- with its flag where its loss is out of the band. The oldest first, those of unknown age last.
SELECT s.cask, s.contents, s.location, p.position, c.nominal_l, c.wood, c.treatment, c.char_level, c.former_contents, c.cooperage,
       s.filled_at, a.aged_from, a.not_known, s.gauged_at, s.gauged_l, s.u_gauged_l, s.as_of, s.expected_l, s.u_expected_l, s.expected_by,
       v.per_year, v.u_per_year, v.like_it, v.usual_per_year, v.u_usual_per_year, v.scatter_per_year,
       coalesce(v.is_outlier, false) AS is_outlier, f.flag
FROM derived.cask_stock AS s
LEFT JOIN typed.casks AS c USING (cask)
LEFT JOIN (             -- the last that was told of it since it came into that warehouse
    SELECT cask, last(position ORDER BY turn) FILTER (position IS NOT NULL) AS position FROM (
        SELECT *, max(CASE WHEN is_elsewhere THEN turn END) OVER (PARTITION BY cask) AS came_with FROM (
            SELECT cask, location, position, row_number() OVER in_turn AS turn, location IS DISTINCT FROM lag(location) OVER in_turn AS is_elsewhere
            FROM derived.cask_places WINDOW in_turn AS (PARTITION BY cask ORDER BY from_at NULLS FIRST)
        )
    ) WHERE turn >= coalesce(came_with, 1) GROUP BY cask
) AS p USING (cask)
LEFT JOIN derived.evaporation AS v USING (contents)
LEFT JOIN derived.ages AS a ON a.lot = s.contents
LEFT JOIN (SELECT lot, min(flag) AS flag FROM flagged.flags WHERE rule = 'cask-evaporation' GROUP BY lot) AS f ON f.lot = s.contents
ORDER BY a.aged_from NULLS LAST, s.cask

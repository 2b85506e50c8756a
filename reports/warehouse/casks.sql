-- Every cask that holds something by the book: what it is, since when, what is left, and what it loses beside casks like it;
-- with its flag where its loss is out of the band. The oldest first, those of unknown age last.
SELECT s.cask, s.contents, s.location, p.position, c.nominal_l, c.wood, c.treatment, c.char_level, c.former_contents, c.cooperage,
       s.filled_at, a.aged_from, a.not_known, s.gauged_at, s.gauged_l, s.u_gauged_l, s.as_of, s.expected_l, s.u_expected_l, s.expected_by,
       v.per_year, v.u_per_year, v.like_it, v.usual_per_year, v.u_usual_per_year, v.scatter_per_year,
       coalesce(v.is_outlier, false) AS is_outlier, f.flag
FROM derived.cask_stock AS s
LEFT JOIN typed.casks AS c USING (cask)
LEFT JOIN (SELECT cask, last(position ORDER BY from_at NULLS FIRST) AS position FROM derived.cask_places GROUP BY cask) AS p USING (cask)
LEFT JOIN derived.evaporation AS v USING (contents)
LEFT JOIN derived.ages AS a ON a.lot = s.contents
LEFT JOIN (SELECT lot, min(flag) AS flag FROM flagged.flags WHERE rule = 'cask-evaporation' GROUP BY lot) AS f ON f.lot = s.contents
ORDER BY a.aged_from NULLS LAST, s.cask

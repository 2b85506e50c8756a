-- What evaporated, a row a day on which casks of one size were gauged again or emptied in one warehouse: LPA lost since their
-- gauges before, over the LPA-years that lay in them (mean of beginning and end, times years). A cask outside the band of casks
-- like it leaks or was read wrongly: it has a row of its own without a figure. The warehouse is that of the day.
WITH measured AS (
    SELECT l.*, v.is_outlier, epoch(l.to_at - l.from_at) / (365.2425 * 86400) AS years,
           l.loss_l IS NOT NULL AND l.held_l > 0 AND l.held_l > l.loss_l AND NOT coalesce(v.is_outlier, false) AS has_figure,
           timezone($zone, timezone('UTC', l.to_at))::DATE AS on_day,
           concat_ws(', ', coalesce(p.location, 'place not on record'),
                     CASE WHEN v.nominal_l IS NULL THEN 'size not on record' ELSE printf('%.0f L', v.nominal_l) END) AS casks
    FROM derived.cask_losses AS l LEFT JOIN derived.evaporation AS v USING (contents)
    ASOF LEFT JOIN (SELECT cask, coalesce(from_at, '-infinity') AS from_at, location FROM derived.cask_places) AS p
      ON p.cask = l.cask AND p.from_at <= l.to_at
    WHERE l.to_at > l.from_at
)
SELECT 'evaporation' AS measure, CASE WHEN count(*) = 1 THEN 'cask ' || any_value(cask) ELSE concat(count(*), ' casks on ', on_day) END AS run, max(to_at) AS ended_at, casks,
       sum(loss_l ORDER BY contents, number) AS numerator, sum((held_l - loss_l / 2) * years ORDER BY contents, number) AS denominator,
       -- errors that the gauges of several casks share are not told here
       CASE WHEN count(*) = 1 THEN any_value(u_loss_l / ((held_l - loss_l / 2) * years)) END AS u
FROM measured WHERE has_figure GROUP BY on_day, casks
UNION ALL
SELECT 'evaporation', 'cask ' || cask, to_at, casks, NULL, NULL, NULL FROM measured WHERE NOT has_figure
ORDER BY ended_at, casks, run

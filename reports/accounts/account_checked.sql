-- How well the gauges of the month check each other, by part. Parameter: the first day of the month.
SELECT coalesce(part, 'dip') AS part, count(*) AS gauges,
       count(*) FILTER (verdict = 'cannot be checked') AS unchecked,
       count(*) FILTER (alike IS NOT NULL) AS not_told_apart,
       median(u_measured_l) AS u_l, median(detectable_l) AS detectable_l,
       string_agg(coalesce(run || ' ', '') || lot, ', ' ORDER BY run, lot) FILTER (verdict = 'cannot be checked') AS which
FROM derived.reconciled
WHERE kind IN ('gauge', 'dip') AND measured_l IS NOT NULL
  AND date_trunc('month', timezone(getvariable('house_zone'), timezone('UTC', gauged_at)))::DATE = $1
GROUP BY ALL
ORDER BY part

-- One row a lot and month-end dip, those of casks left out (they lose by years): alcohol dipped against what the movements before it leave in the lot.
-- flag_as: what the flag is named by, the moment in UTC, so that explanations stay whatever the house says of its zone.
WITH dipped AS (
    SELECT
        lot, timezone(getvariable('house_zone'), timezone('UTC', gauged_at))::DATE AS dipped_on, max(gauged_at) AS gauged_at,
        string_agg(vessel, ', ' ORDER BY vessel) AS vessels, min(source_id) AS source_id, min(line) AS line,
        CASE WHEN bool_and(alcohol_l IS NOT NULL) THEN sum(alcohol_l) END AS alcohol_l, list(gauge) AS gauges
    FROM derived.stock_gauges WHERE lot NOT IN (SELECT contents FROM derived.cask_events)
    GROUP BY lot, dipped_on
),
moved AS (
    SELECT
        gauges.lot, coalesce(gauges.gauged_at, runs.started_at) AS moved_at,
        CASE gauges.direction WHEN 'out' THEN 1 ELSE -1 END AS sign, gauges.alcohol_l, gauges.gauge
    FROM derived.gauges
    JOIN derived.runs ON runs.run = gauges.run
    UNION ALL
    SELECT lot, came_at, 1, alcohol_l, gauge FROM derived.openings
    UNION ALL
    SELECT lot, removed_at, CASE kind WHEN 'returned' THEN 1 ELSE -1 END, alcohol_l, gauge FROM derived.removals WHERE NOT is_bottled
),
counted AS (            -- what the dip counts once and each movement before it against
    SELECT lot, dipped_on, unnest(gauges) AS gauge, 1 AS sign FROM dipped
    UNION ALL
    SELECT dipped.lot, dipped.dipped_on, moved.gauge, -moved.sign
    FROM dipped JOIN moved ON moved.lot = dipped.lot AND moved.moved_at <= dipped.gauged_at
),
by_error AS (           -- errors that dip and movements share cancel as far as they do
    SELECT counted.lot, counted.dipped_on, errors.error, sum(counted.sign * errors.alcohol_l ORDER BY counted.sign * errors.alcohol_l) AS alcohol_l
    FROM counted JOIN derived.gauge_errors AS errors ON errors.gauge = counted.gauge
    GROUP BY counted.lot, counted.dipped_on, errors.error
),
uncertainties AS (
    SELECT lot, dipped_on, sqrt(sum(alcohol_l ** 2 ORDER BY error)) AS u_difference_l FROM by_error GROUP BY lot, dipped_on
)
SELECT
    'lot ' || dipped.lot || ', dip of ' || strftime(dipped.dipped_on, '%Y-%m-%d') AS record,
    'lot ' || dipped.lot || ', dip of ' || strftime(dipped.gauged_at, '%Y-%m-%d') AS flag_as,
    dipped.lot, dipped.source_id, dipped.line, 'vessel ' || dipped.vessels AS note,
    any_value(dipped.alcohol_l) AS dipped_alcohol_l,
    CASE WHEN bool_and(moved.alcohol_l IS NOT NULL) THEN sum(moved.sign * moved.alcohol_l) END AS book_alcohol_l,
    any_value(uncertainties.u_difference_l) AS u_difference_l
FROM dipped
JOIN derived.lots ON lots.lot = dipped.lot AND lots.origin <> 'unknown'
JOIN moved ON moved.lot = dipped.lot AND moved.moved_at <= dipped.gauged_at
LEFT JOIN uncertainties ON uncertainties.lot = dipped.lot AND uncertainties.dipped_on = dipped.dipped_on
GROUP BY dipped.lot, dipped.dipped_on, dipped.gauged_at, dipped.vessels, dipped.source_id, dipped.line
ORDER BY dipped.dipped_on, dipped.lot

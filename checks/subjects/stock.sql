-- One row a lot and month-end dip: alcohol dipped against what the movements before it leave in the lot.
WITH dipped AS (
    SELECT
        lot, date_trunc('day', gauged_at) AS dipped_on, max(gauged_at) AS gauged_at,
        string_agg(vessel, ', ' ORDER BY vessel) AS vessels, min(source_id) AS source_id, min(line) AS line,
        CASE WHEN bool_and(alcohol_l IS NOT NULL) THEN sum(alcohol_l) END AS alcohol_l,
        sqrt(sum(u_alcohol_l ** 2)) AS u_alcohol_l
    FROM derived.stock_gauges
    GROUP BY lot, dipped_on
),
moved AS (
    SELECT
        gauges.lot, coalesce(gauges.gauged_at, runs.started_at) AS moved_at,
        CASE gauges.direction WHEN 'out' THEN gauges.alcohol_l ELSE -gauges.alcohol_l END AS alcohol_l,
        gauges.u_alcohol_l
    FROM derived.gauges
    JOIN typed.runs ON runs.run = gauges.run
    UNION ALL
    SELECT lot, came_at, alcohol_l, u_alcohol_l FROM derived.openings
)
SELECT
    'lot ' || dipped.lot || ', dip of ' || strftime(dipped.dipped_on, '%Y-%m-%d') AS record,
    dipped.lot, dipped.source_id, dipped.line, 'vessel ' || dipped.vessels AS note,
    any_value(dipped.alcohol_l) AS dipped_alcohol_l,
    CASE WHEN bool_and(moved.alcohol_l IS NOT NULL) THEN sum(moved.alcohol_l) END AS book_alcohol_l,
    sqrt(any_value(dipped.u_alcohol_l) ** 2 + sum(moved.u_alcohol_l ** 2)) AS u_difference_l
FROM dipped
JOIN derived.lots ON lots.lot = dipped.lot AND lots.origin <> 'unknown'
JOIN moved ON moved.lot = dipped.lot AND moved.moved_at <= dipped.gauged_at
GROUP BY dipped.lot, dipped.dipped_on, dipped.vessels, dipped.source_id, dipped.line
ORDER BY dipped.dipped_on, dipped.lot

-- The month's last stocktake against the book at that moment, lot by lot: what was dipped, and what the book holds that was not.
-- Parameter: the first day of the month. A stocktake is all dips of one day; its moment for a lot without a dip is the last.
WITH dips AS (
    SELECT vessel, lot, gauged_at, alcohol_l AS dip_l, u_alcohol_l AS u_dip_l, not_computed,
           timezone(getvariable('house_zone'), timezone('UTC', gauged_at)) AS local_at
    FROM derived.stock_gauges
),
last_day AS (
    SELECT max(local_at::DATE) AS day, max(gauged_at) AS moment FROM dips WHERE date_trunc('month', local_at)::DATE = $1
),
taken AS (
    SELECT d.* FROM dips AS d JOIN last_day AS l ON d.local_at::DATE = l.day
),
book AS (
    SELECT e.place AS vessel, e.lot, sum(e.alcohol_l) AS book_l, sqrt(sum(e.u_alcohol_l ** 2)) AS u_book_l
    FROM derived.account_entries AS e
    CROSS JOIN (SELECT max(gauged_at) AS moment FROM taken) AS l
    LEFT JOIN taken AS t ON t.vessel = e.place AND t.lot = e.lot
    WHERE e.is_vessel AND e.lot IS NOT NULL AND e.booked_at <= coalesce(t.gauged_at, l.moment)
    GROUP BY e.place, e.lot
)
SELECT coalesce(t.vessel, b.vessel) AS vessel, coalesce(t.lot, b.lot) AS lot, t.gauged_at AS dipped_at,
       coalesce(b.book_l, 0) AS book_l, coalesce(b.u_book_l, 0) AS u_book_l, t.dip_l, t.u_dip_l, t.not_computed,
       t.dip_l - coalesce(b.book_l, 0)::DOUBLE AS difference_l,
       sqrt(t.u_dip_l ** 2 + coalesce(b.u_book_l, 0) ** 2) AS u_difference_l
FROM taken AS t FULL JOIN book AS b USING (vessel, lot)
WHERE t.lot IS NOT NULL OR b.book_l <> 0
ORDER BY 1, 2

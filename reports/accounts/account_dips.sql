-- A stocktake against the book at that moment, lot by lot: what was dipped, and what the book holds that was not.
-- Parameter: its day, by the house's calendar. A stocktake is all dips of one day, of a lot dipped again its last; its moment
-- for a lot without a dip is the last of all.
WITH dips AS (
    SELECT gauge, vessel, lot, gauged_at, alcohol_l AS dip_l, u_alcohol_l AS u_dip_l, not_computed,
           timezone(getvariable('house_zone'), timezone('UTC', gauged_at)) AS local_at
    FROM derived.stock_gauges
),
last_day AS (
    SELECT max(local_at::DATE) AS day, max(gauged_at) AS moment FROM dips WHERE local_at::DATE = $1
),
taken AS (
    SELECT d.* FROM dips AS d JOIN last_day AS l ON d.local_at::DATE = l.day
    QUALIFY row_number() OVER (PARTITION BY vessel, lot ORDER BY gauged_at DESC, gauge DESC) = 1
),
book AS (
    SELECT e.place AS vessel, e.lot, sum(e.alcohol_l) AS book_l
    FROM derived.account_entries AS e
    CROSS JOIN (SELECT max(gauged_at) AS moment FROM taken) AS l
    LEFT JOIN taken AS t ON t.vessel = e.place AND t.lot = e.lot
    WHERE e.is_vessel AND e.lot IS NOT NULL AND e.booked_at <= coalesce(t.gauged_at, l.moment)
    GROUP BY e.place, e.lot
),
named AS (
    SELECT vessel, lot FROM taken UNION SELECT vessel, lot FROM book WHERE book_l <> 0
),
errors AS (             -- of the book and of the dip, by what they share: in the difference it cancels as far as it does
    SELECT vessel, lot, error, sum(book_e ORDER BY book_e) AS book_e, sum(dip_e ORDER BY dip_e) AS dip_e
    FROM (
        SELECT e.place AS vessel, e.lot, e.error, e.alcohol_l AS book_e, 0 AS dip_e
        FROM derived.entry_errors AS e JOIN named AS n ON n.vessel = e.place AND n.lot = e.lot
        CROSS JOIN (SELECT max(gauged_at) AS moment FROM taken) AS l
        LEFT JOIN taken AS t ON t.vessel = e.place AND t.lot = e.lot
        WHERE e.is_vessel AND e.booked_at <= coalesce(t.gauged_at, l.moment)
        UNION ALL
        SELECT t.vessel, t.lot, e.error, 0, e.alcohol_l FROM taken AS t JOIN derived.gauge_errors AS e USING (gauge)
    )
    GROUP BY vessel, lot, error
),
uncertainties AS (
    SELECT vessel, lot, sqrt(sum(book_e ** 2 ORDER BY error)) AS u_book_l, sqrt(sum((dip_e - book_e) ** 2 ORDER BY error)) AS u_difference_l
    FROM errors GROUP BY vessel, lot
)
SELECT coalesce(t.vessel, b.vessel) AS vessel, coalesce(t.lot, b.lot) AS lot, t.gauged_at AS dipped_at,
       coalesce(b.book_l, 0) AS book_l, coalesce(u.u_book_l, 0) AS u_book_l, t.dip_l, t.u_dip_l, t.not_computed,
       t.dip_l - coalesce(b.book_l, 0)::DOUBLE AS difference_l,
       CASE WHEN t.dip_l IS NOT NULL THEN u.u_difference_l END AS u_difference_l
FROM taken AS t FULL JOIN book AS b USING (vessel, lot)
LEFT JOIN uncertainties AS u ON u.vessel = coalesce(t.vessel, b.vessel) AND u.lot = coalesce(t.lot, b.lot)
WHERE t.lot IS NOT NULL OR b.book_l <> 0
ORDER BY 1, 2

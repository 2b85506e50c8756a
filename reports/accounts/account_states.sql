-- What each vessel held at a moment, lot by lot, by the entries up to then, beside the latest dip of that lot up to then.
-- Parameter: the moment, UTC.
WITH held AS (
    SELECT place AS vessel, lot, sum(alcohol_l) AS book_l, max(booked_at) AS last_entry_at
    FROM derived.account_entries
    WHERE is_vessel AND booked_at <= $1 AND lot IS NOT NULL
    GROUP BY place, lot
    HAVING sum(alcohol_l) <> 0
),
errors AS (             -- what one error gives to all entries of a lot is added up with its sign before it is squared
    SELECT e.place AS vessel, e.lot, e.error, sum(e.alcohol_l ORDER BY e.booked_at, e.alcohol_l) AS alcohol_l
    FROM derived.entry_errors AS e JOIN held AS h ON h.vessel = e.place AND h.lot = e.lot
    WHERE e.is_vessel AND e.booked_at <= $1
    GROUP BY e.place, e.lot, e.error
),
uncertainties AS (
    SELECT vessel, lot, sqrt(sum(alcohol_l ** 2 ORDER BY error)) AS u_book_l FROM errors GROUP BY vessel, lot
),
dips AS (
    SELECT vessel, lot, first(alcohol_l ORDER BY gauged_at DESC) AS dip_l, first(u_alcohol_l ORDER BY gauged_at DESC) AS u_dip_l,
           first(not_computed ORDER BY gauged_at DESC) AS not_computed, max(gauged_at) AS dipped_at
    FROM derived.stock_gauges WHERE gauged_at <= $1 GROUP BY vessel, lot
)
SELECT h.vessel, h.lot, h.book_l, u.u_book_l, d.dip_l, d.u_dip_l, d.dipped_at, d.not_computed,
       coalesce(d.dipped_at < h.last_entry_at, false) AS has_moved_since
FROM held AS h LEFT JOIN uncertainties AS u USING (vessel, lot) LEFT JOIN dips AS d USING (vessel, lot)
ORDER BY h.vessel, h.lot

-- What the book holds less of than nothing at the end of the month: vessels as a whole (lot is NULL), and lots in them.
-- Parameter: the first day of the month.
SELECT place AS vessel, lot, sum(alcohol_l) AS closing_l, sqrt(sum(u_alcohol_l ** 2)) AS u_closing_l
FROM derived.account_entries
WHERE is_vessel AND month <= $1
GROUP BY GROUPING SETS ((place), (place, lot))
HAVING sum(alcohol_l) < 0 AND (GROUPING(lot) = 1 OR lot IS NOT NULL)
ORDER BY lot IS NOT NULL, closing_l, vessel, lot

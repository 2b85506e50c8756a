-- Losses and gains of the month apart, since together they may come to nought. Parameter: the first day of the month.
SELECT entry,
       coalesce(-sum(alcohol_l) FILTER (alcohol_l < 0), 0) AS lost_l, count(*) FILTER (alcohol_l < 0) AS losses,
       coalesce(sum(alcohol_l) FILTER (alcohol_l > 0), 0) AS gained_l, count(*) FILTER (alcohol_l > 0) AS gains
FROM derived.account_entries
WHERE month = $1 AND entry IN ('explained', 'unexplained')
GROUP BY entry
ORDER BY entry

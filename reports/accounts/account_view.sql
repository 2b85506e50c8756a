-- The account of one month by parts of the house (offered as "parts": place, is_vessel, part): a row a part and place. What moves
-- between two parts is told as such, whatever run or tank it went through. Parameter: the first day of the month.
WITH entries AS (
    SELECT e.*, p.part FROM derived.account_entries AS e JOIN parts AS p USING (place, is_vessel) WHERE e.month <= $1
),
ends AS (               -- a move inside the house has two ends; in different parts it is a move between them
    SELECT gauge, entry, min(part) AS one, max(part) AS other FROM entries
    WHERE gauge IS NOT NULL AND entry IN ('used', 'produced', 'transferred') GROUP BY gauge, entry HAVING min(part) <> max(part)
),
told AS (
    SELECT e.part, e.place, e.is_vessel, e.month, e.alcohol_l,
           CASE WHEN x.gauge IS NULL THEN replace(e.entry, ' ', '_') WHEN e.alcohol_l < 0 THEN 'moved_out' ELSE 'moved_in' END AS entry,
           CASE WHEN x.gauge IS NOT NULL THEN CASE e.part WHEN x.one THEN x.other ELSE x.one END END AS other
    FROM entries AS e LEFT JOIN ends AS x ON x.gauge = e.gauge AND x.entry = e.entry
)
SELECT part, place, is_vessel, CASE WHEN month < $1 THEN 'opening' ELSE entry END AS line, CASE WHEN month = $1 THEN other END AS other,
       sum(alcohol_l) AS alcohol_l
FROM told GROUP BY ALL
ORDER BY part, is_vessel DESC, place, line, other

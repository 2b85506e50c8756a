-- The account of one month by parts of the house (offered as "parts": place, is_vessel, part, from_at): a row a part and place. What
-- moves between two parts is told as such, whatever run or tank it went through; a cask that is carried from one part to another
-- takes with it what the book holds in it. Parameter: the first day of the month.
WITH stays AS (
    SELECT place, is_vessel, part, coalesce(from_at, '-infinity'::TIMESTAMP) AS from_at,
           lag(part) OVER (PARTITION BY place, is_vessel ORDER BY from_at NULLS FIRST) AS part_before
    FROM parts
),
entries AS (
    SELECT e.*, s.part FROM derived.account_entries AS e
    ASOF JOIN stays AS s ON s.place = e.place AND s.is_vessel = e.is_vessel AND e.booked_at >= s.from_at
    WHERE e.month <= $1
),
ends AS (               -- a move inside the house has two ends; in different parts it is a move between them
    SELECT gauge, entry, min(part) AS one, max(part) AS other FROM entries
    WHERE gauge IS NOT NULL AND entry IN ('used', 'produced', 'transferred') GROUP BY gauge, entry HAVING min(part) <> max(part)
),
carried AS (            -- with its cask
    SELECT s.place, s.is_vessel, s.part, s.part_before, sum(e.alcohol_l) AS alcohol_l,
           date_trunc('month', timezone(getvariable('house_zone'), timezone('UTC', s.from_at)))::DATE AS month
    FROM stays AS s JOIN entries AS e ON e.place = s.place AND e.is_vessel = s.is_vessel AND e.booked_at < s.from_at
    WHERE s.part <> s.part_before
    GROUP BY ALL HAVING sum(e.alcohol_l) <> 0 AND month <= $1
),
moved AS (
    SELECT e.part, e.place, e.is_vessel, e.month, e.alcohol_l,
           CASE WHEN x.gauge IS NULL THEN replace(e.entry, ' ', '_') WHEN e.alcohol_l < 0 THEN 'moved_out' ELSE 'moved_in' END AS entry,
           CASE WHEN x.gauge IS NOT NULL THEN CASE e.part WHEN x.one THEN x.other ELSE x.one END END AS other
    FROM entries AS e LEFT JOIN ends AS x ON x.gauge = e.gauge AND x.entry = e.entry
    UNION ALL SELECT part_before, place, is_vessel, month, -alcohol_l, CASE WHEN alcohol_l > 0 THEN 'moved_out' ELSE 'moved_in' END, part FROM carried
    UNION ALL SELECT part, place, is_vessel, month, alcohol_l, CASE WHEN alcohol_l > 0 THEN 'moved_in' ELSE 'moved_out' END, part_before FROM carried
)
SELECT part, place, is_vessel, CASE WHEN month < $1 THEN 'opening' ELSE entry END AS line, CASE WHEN month = $1 THEN other END AS other,
       sum(alcohol_l) AS alcohol_l
FROM moved GROUP BY ALL
ORDER BY part, is_vessel DESC, place, line, other

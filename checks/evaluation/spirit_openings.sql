-- Lots with alcohol that were received or stood there when the book was begun: by what names, and how much of each lot they
-- were beside what runs made under its name.
WITH made AS (
    SELECT lot, CASE WHEN count(*) = count(alcohol_l) THEN sum(alcohol_l ORDER BY gauge) END AS alcohol_l, true AS is_made
    FROM derived.gauges WHERE direction = 'out' GROUP BY lot
),
came AS (
    SELECT lot, list(DISTINCT material ORDER BY material) AS materials, bool_and(kind = 'neutral spirit') AS is_neutral,
           CASE WHEN count(*) = count(alcohol_l) THEN sum(alcohol_l ORDER BY gauge) END AS alcohol_l
    FROM derived.openings WHERE carries_alcohol GROUP BY lot
)
SELECT c.lot, c.materials, c.is_neutral,
       CASE WHEN m.is_made IS NULL THEN 1 ELSE c.alcohol_l / nullif(c.alcohol_l + m.alcohol_l, 0) END AS share
FROM came AS c LEFT JOIN made AS m USING (lot)
ORDER BY c.lot

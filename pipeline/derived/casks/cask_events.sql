-- made from: typed.cask_events, typed.casks
-- Each event of a cask with the filling that it belongs to. What a cask holds from one emptying to the next is a lot of
-- its own, named CASK/N: the N-th time that it was filled from empty. Within one instant a cask is gauged again before it is
-- emptied, and emptied before it is filled. An emptied cask of which nothing was drawn is no run: what it held left otherwise.
-- From cask to cask both rows belong to one run; where the record names none, one is made up of what and when.
INSERT INTO derived.cask_events BY NAME
WITH numbered AS (
    SELECT *, 1 + count(*) FILTER (event = 'emptied') OVER before AS filling
    FROM typed.cask_events CROSS JOIN LATERAL (
        SELECT CASE event WHEN 'regauged' THEN 0 WHEN 'emptied' THEN 1 WHEN 'filled' THEN 2 ELSE 3 END AS turn
    )
    WINDOW before AS (
        PARTITION BY cask ORDER BY happened_at, turn, lot, other_cask, source_id, line
        ROWS BETWEEN UNBOUNDED PRECEDING AND 1 PRECEDING
    )
),
from_cask AS (          -- what the other cask held just before
    SELECT n.source_id, n.line, n.other_cask || '/' || (1 + count(e.cask)) AS contents
    FROM numbered AS n LEFT JOIN typed.cask_events AS e ON e.cask = n.other_cask AND e.event = 'emptied' AND e.happened_at < n.happened_at
    WHERE n.event = 'filled' AND n.other_cask IS NOT NULL
    GROUP BY n.source_id, n.line, n.other_cask
)
SELECT n.* EXCLUDE (turn) REPLACE (
           CASE WHEN n.event = 'filled' THEN coalesce(n.lot, f.contents) ELSE n.lot END AS lot,
           CASE WHEN n.event NOT IN ('filled', 'drawn', 'emptied') OR (n.event = 'emptied' AND n.run IS NULL AND n.alcohol_l = 0) THEN NULL
                WHEN n.run IS NOT NULL THEN n.run
                WHEN n.other_cask IS NOT NULL AND n.event = 'filled' THEN concat('transfer ', n.other_cask, ' to ', n.cask, ' ', n.happened_at::DATE)
                WHEN n.other_cask IS NOT NULL THEN concat('transfer ', n.cask, ' to ', n.other_cask, ' ', n.happened_at::DATE)
                WHEN n.event = 'filled' THEN concat('fill ', n.lot, ' ', n.happened_at::DATE)
                ELSE concat_ws(' ', 'dump', n.lot, n.happened_at::DATE) END AS run
       ),
       n.cask || '/' || n.filling AS contents,
       coalesce(n.mass_kg, n.gross_kg - coalesce(n.tare_kg, c.tare_kg)) AS net_kg
FROM numbered AS n
LEFT JOIN from_cask AS f ON f.source_id = n.source_id AND f.line = n.line
LEFT JOIN (SELECT cask, max(tare_kg) AS tare_kg FROM typed.casks GROUP BY cask) AS c ON c.cask = n.cask
ORDER BY n.cask, n.happened_at, n.event, n.lot, n.source_id, n.line;

-- made from: typed.bottling, derived.cask_events, derived.runs, derived.gauges, derived.lots, derived.openings, derived.stock_gauges, house_zone
-- Lots of spirit that are used up: drawn from, and then their vessel took another lot or a stocktake that dips their
-- vessel did not list them any more. A lot of which more than a tenth would be missing is not taken for used up (common
-- practice for the heel that a tank keeps): that is a difference to be told, not one to be written off.
INSERT INTO derived.used_up_lots BY NAME
WITH gauged AS (
    SELECT g.lot, g.vessel, g.direction,
           coalesce(g.gauged_at, CASE g.direction WHEN 'in' THEN r.started_at ELSE coalesce(r.ended_at, r.started_at) END) AS moved_at
    FROM derived.gauges AS g LEFT JOIN derived.runs AS r USING (run)
    WHERE g.part NOT IN ('grain', 'fruit', 'sugar', 'yeast', 'water', 'wort', 'botanical', 'sweetening', 'packaging')
),
dips AS (              -- a stocktake is all dips of one day by the house's calendar; its moment is the last of them
    SELECT lot, vessel, gauged_at, max(gauged_at) OVER (PARTITION BY timezone(getvariable('house_zone'), timezone('UTC', gauged_at))::DATE) AS taken_at
    FROM derived.stock_gauges
),
last_seen AS (          -- moved or dipped, and the stocktake that listed it
    SELECT lot, max(moved_at) AS moved_at, max(listed_at) AS listed_at FROM (
        SELECT lot, moved_at, moved_at AS listed_at FROM gauged UNION ALL SELECT lot, gauged_at, taken_at FROM dips
    ) GROUP BY lot
),
candidates AS (
    SELECT l.lot, s.moved_at AS last_at, s.listed_at, v.vessel, l.remaining
    FROM derived.lots AS l
    JOIN last_seen AS s USING (lot)
    LEFT JOIN (SELECT lot, first(vessel ORDER BY moved_at, vessel) AS vessel FROM gauged WHERE vessel IS NOT NULL GROUP BY lot) AS v USING (lot)
    WHERE l.basis = 'LPA' AND l.origin <> 'unknown' AND l.drawn_by_runs > 0
      AND l.lot NOT IN (SELECT lot FROM typed.bottling)
      AND l.lot NOT IN (SELECT lot FROM derived.openings WHERE kind = 'bottled spirit')
      AND abs(l.remaining) < 0.1 * l.quantity_in AND l.lot NOT IN (SELECT contents FROM derived.cask_events)
),
filled AS (
    SELECT vessel, moved_at FROM gauged WHERE direction = 'out' AND vessel IS NOT NULL ORDER BY vessel, moved_at
),
stocktakes AS (         -- the days on which a vessel that is ever dipped could have been
    SELECT v.vessel, d.taken_at
    FROM (SELECT DISTINCT vessel FROM dips) AS v CROSS JOIN (SELECT DISTINCT taken_at FROM dips) AS d
),
evidence AS (
    SELECT c.lot, f.moved_at, 'its vessel took another lot' AS evidence
    FROM candidates AS c ASOF JOIN (SELECT * FROM filled) AS f ON f.vessel = c.vessel AND f.moved_at > c.last_at
    UNION ALL
    SELECT c.lot, s.taken_at, 'a stocktake did not list it'
    FROM candidates AS c ASOF JOIN stocktakes AS s ON s.vessel = c.vessel AND s.taken_at > c.listed_at
)
SELECT contents AS lot, min(happened_at) AS emptied_at, 'the cask was emptied' AS evidence, any_value(cask) AS vessel,
       any_value(l.remaining) AS left_l
FROM derived.cask_events AS e JOIN derived.lots AS l ON l.lot = e.contents
WHERE e.event = 'emptied'
GROUP BY contents
UNION ALL
SELECT e.lot, min(e.moved_at), first(e.evidence ORDER BY e.moved_at, e.evidence) AS evidence, any_value(c.vessel) AS vessel,
       any_value(c.remaining) AS left_l
FROM evidence AS e JOIN candidates AS c USING (lot)
GROUP BY e.lot
ORDER BY lot;

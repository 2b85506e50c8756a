-- The network of alcohol: each gauge between a run and a lot, each dip between two legs of a lot's life, and what a run or
-- a used-up lot usually loses. A leg of a lot ends where it is dipped. Nodes are named "run NAME" and "lot NAME leg K".
WITH gauged AS (
    SELECT g.*, coalesce(g.gauged_at, CASE g.direction WHEN 'in' THEN r.started_at ELSE coalesce(r.ended_at, r.started_at) END) AS moved_at
    FROM derived.gauges AS g LEFT JOIN derived.runs AS r USING (run)
    WHERE g.part NOT IN ('grain', 'fruit', 'sugar', 'yeast', 'water', 'wort', 'botanical', 'sweetening', 'packaging')
),
nodes AS (              -- lots with both sides on record; of the others nothing can be balanced
    SELECT lot FROM gauged GROUP BY lot
    -- what a cask loses is no loss of gauging, so its fillings balance nothing
    HAVING lot NOT IN (SELECT contents FROM derived.cask_events) AND bool_or(direction = 'out') AND (bool_or(direction = 'in') OR lot IN (SELECT lot FROM derived.stock_gauges))
),
dips AS (               -- a lot that stands in two vessels is dipped in both; together they are one dip of that day in the house
    SELECT lot, max(gauged_at) AS moved_at, sum(alcohol_l) AS alcohol_l, list(gauge ORDER BY gauge) AS gauges,
           bool_and(alcohol_l IS NOT NULL) AS is_known, min(source_id) AS source_id, min(line) AS line,
           row_number() OVER (PARTITION BY lot ORDER BY timezone(getvariable('house_zone'), timezone('UTC', gauged_at))::DATE) AS number
    FROM derived.stock_gauges WHERE lot IN (SELECT lot FROM nodes) GROUP BY lot, timezone(getvariable('house_zone'), timezone('UTC', gauged_at))::DATE
),
with_leg AS (
    SELECT g.*, g.lot IN (SELECT lot FROM nodes) AS is_node, coalesce(d.number, 0) AS leg
    FROM gauged AS g ASOF LEFT JOIN dips AS d ON d.lot = g.lot AND d.moved_at < g.moved_at
),
last_leg AS (
    SELECT lot, max(leg) AS leg FROM with_leg WHERE is_node GROUP BY lot
),
ends AS (               -- used up: what is left is known to be little; else nobody has measured what is left
    SELECT n.lot, u.lot IS NOT NULL AS is_used_up, u.emptied_at,
           CASE WHEN u.lot IS NOT NULL THEN x.fraction * l.quantity_in END AS left_l, x.scatter * l.quantity_in AS u_left_l
    FROM nodes AS n JOIN derived.lots AS l USING (lot)
    LEFT JOIN derived.used_up_lots AS u USING (lot)
    LEFT JOIN derived.usual_losses AS x ON x.of_what = 'lot' AND x.kind = l.material
),
legs AS (
    SELECT e.*, l.leg AS last_leg, coalesce(d.dips, 0) AS dips
    FROM ends AS e JOIN last_leg AS l USING (lot) LEFT JOIN (SELECT lot, max(number) AS dips FROM dips GROUP BY lot) AS d USING (lot)
)
SELECT 'loss' AS kind, run, NULL::VARCHAR AS direction, NULL::VARCHAR AS lot, NULL::VARCHAR AS part, ended_at AS gauged_at,
       'run ' || run AS source, NULL::VARCHAR AS target, usual_loss_l AS measured_l, u_usual_loss_l AS u_measured_l,
       NULL::INTEGER AS source_id, NULL::INTEGER AS line, NULL::INTEGER[] AS gauges    -- whose errors make its uncertainty
FROM derived.run_verdicts
UNION ALL
SELECT 'gauge', run, direction, lot, part, moved_at,
       CASE WHEN direction = 'out' THEN CASE WHEN is_balanced THEN 'run ' || run END
            WHEN is_node THEN 'lot ' || lot || ' leg ' || leg END,
       CASE WHEN direction = 'in' THEN CASE WHEN is_balanced THEN 'run ' || run END
            WHEN is_node THEN 'lot ' || lot || ' leg ' || leg END,
       alcohol_l, NULL, source_id, line, [gauge]
FROM with_leg CROSS JOIN LATERAL (SELECT stage NOT IN ('mash', 'ferment') AS is_balanced)
UNION ALL
SELECT 'dip', NULL, NULL, d.lot, NULL, d.moved_at, 'lot ' || d.lot || ' leg ' || (d.number - 1),
       CASE WHEN d.number <= l.last_leg OR l.is_used_up OR d.number < l.dips THEN 'lot ' || d.lot || ' leg ' || d.number END,
       CASE WHEN d.is_known THEN d.alcohol_l END, NULL, d.source_id, d.line, d.gauges
FROM dips AS d JOIN legs AS l USING (lot)
UNION ALL
SELECT 'left', NULL, NULL, lot, NULL, emptied_at, 'lot ' || lot || ' leg ' || greatest(last_leg, dips), NULL, left_l, u_left_l, NULL, NULL, NULL
FROM legs WHERE is_used_up OR last_leg >= dips
ORDER BY ALL

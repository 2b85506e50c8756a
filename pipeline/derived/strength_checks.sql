-- made from: derived.cask_events, derived.movements, derived.dips, derived.extracts, derived.gauges, derived.laboratory, derived.openings, derived.stock_gauges
-- A lot at rest has one strength, so every reading of it (gauges, dips, laboratory) checks the others (but in a cask, where it changes): each against the
-- mean of all, weighted by 1/u2. The measurement test of a reading is its distance from that mean in the standard
-- uncertainty of the distance, sqrt(u2 - u2 of the mean); critical: 4.5 (Sidak at 5 % over some seven thousand readings).
-- Apparent and estimated strengths are checked among themselves: extract, not a reading, sets them apart from true ones.
-- A draw without a reading of its own has none to check; readings that the laboratory replaced are not taken twice.
INSERT INTO derived.strength_checks BY NAME
WITH readings AS (
    SELECT 'gauge' AS kind, g.lot, g.run, g.direction, g.gauged_at, g.strength_pct_vol, g.u_strength_pct_vol, g.strength_is, g.source_id, g.line
    FROM derived.gauges AS g
    JOIN derived.movements AS m ON m.source_id = g.source_id AND m.line = g.line AND m.lot = g.lot AND m.strength_reading IS NOT NULL
    WHERE g.strength_from <> 'laboratory'
    UNION ALL
    SELECT 'dip', d.lot, NULL, NULL, d.gauged_at, d.strength_pct_vol, d.u_strength_pct_vol, d.strength_is, d.source_id, d.line
    FROM derived.stock_gauges AS d
    JOIN derived.dips AS s ON s.source_id = d.source_id AND s.line = d.line AND s.strength_reading IS NOT NULL
    UNION ALL
    SELECT 'opening', lot, NULL, NULL, came_at, strength_pct_vol, u_strength_pct_vol, strength_is, source_id, line
    FROM derived.openings WHERE strength_reading IS NOT NULL AND strength_from <> 'laboratory'
    UNION ALL
    SELECT 'laboratory', l.lot, NULL, NULL, l.measured_at, l.value, l.u_value,
           CASE WHEN e.may_hold_from IS NULL OR l.preparation = 'distilled' THEN 'true' ELSE 'apparent' END, l.source_id, l.line
    FROM derived.laboratory AS l LEFT JOIN derived.extracts AS e USING (lot) WHERE l.analyte = 'strength'
),
weighed AS (
    SELECT *, sum(strength_pct_vol / u_strength_pct_vol ** 2) OVER lot / sum(1 / u_strength_pct_vol ** 2) OVER lot AS mean_pct_vol,
           1 / sum(1 / u_strength_pct_vol ** 2) OVER lot AS variance_of_mean,
           count(*) OVER lot AS readings
    FROM readings
    WHERE strength_pct_vol IS NOT NULL AND u_strength_pct_vol > 0 AND lot NOT IN (SELECT contents FROM derived.cask_events)
    WINDOW lot AS (PARTITION BY lot, strength_is ORDER BY kind, run, direction, gauged_at, strength_pct_vol, source_id, line
                   ROWS BETWEEN UNBOUNDED PRECEDING AND UNBOUNDED FOLLOWING)  -- in one order, so that sums agree to the last digit
),
tested AS (
    SELECT *, CASE WHEN readings > 1
              THEN abs(strength_pct_vol - mean_pct_vol) / sqrt(u_strength_pct_vol ** 2 - variance_of_mean) END AS z
    FROM weighed
)
SELECT kind, lot, run, direction, gauged_at, strength_pct_vol, u_strength_pct_vol, mean_pct_vol AS mean_strength_pct_vol,
       sqrt(variance_of_mean) AS u_mean_strength_pct_vol, readings, z,
       CASE WHEN z IS NULL THEN 'cannot be checked'
            -- of two readings that disagree nothing tells which is wrong
            WHEN z > 4.5 AND readings = 2 THEN 'one of two is wrong'
            WHEN z > 4.5 AND z = max(z) OVER (PARTITION BY lot, strength_is) THEN 'suspect'
            ELSE 'agrees' END AS verdict,
       source_id, line
FROM tested
ORDER BY lot, gauged_at, source_id, line;

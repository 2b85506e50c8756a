-- One row a lot in which something is or may be dissolved: whether its litres rest on a true strength, an estimate from its
-- extract, or on what glass or density showed. Placed at the first gauge that is worst.
WITH readings AS (
    SELECT lot, run, equipment, part, gauged_at, strength_pct_vol, strength_is, source_id, line FROM derived.gauges
    UNION ALL
    SELECT lot, NULL, NULL, NULL, gauged_at, strength_pct_vol, strength_is, source_id, line FROM derived.stock_gauges
),
ranked AS (
    SELECT *, CASE strength_is WHEN 'apparent' THEN 2 WHEN 'estimated' THEN 1 ELSE 0 END AS worse
    FROM readings WHERE strength_is IS NOT NULL AND coalesce(part, '') <> 'bottles'
),
lots AS (
    SELECT lot, max(worse) AS worst, bool_and(part = 'spent') AS is_stillage, count(*) FILTER (worse = 2) AS apparent,
        first(struct_pack(run := run, equipment := equipment, source_id := source_id, line := line, strength := strength_pct_vol)
            ORDER BY worse DESC, gauged_at NULLS LAST, run NULLS LAST, source_id, line) AS at
    FROM ranked GROUP BY lot
)
SELECT
    'lot ' || lots.lot AS record, lots.lot, lots.at.run AS run, lots.at.equipment AS equipment,
    lots.at.source_id AS source_id, lots.at.line AS line,
    CASE lots.worst WHEN 2 THEN 'apparent' WHEN 1 THEN 'estimated' ELSE 'true' END AS strength_is,
    CASE WHEN lots.is_stillage THEN 'stillage' WHEN extracts.may_hold_from = 'cask' THEN 'cask' ELSE 'added' END AS holds,
    concat_ws(', ', 'extract from ' || extracts.may_hold_from, printf('%.1f g/L', extracts.extract_g_l),
        printf('%.2f %% vol as booked', lots.at.strength),
        CASE WHEN lots.apparent > 0 THEN lots.apparent || CASE lots.apparent WHEN 1 THEN ' gauge' ELSE ' gauges' END || ' apparent' END) AS note
FROM lots
JOIN derived.extracts USING (lot)
WHERE extracts.may_hold_from IS NOT NULL
ORDER BY lots.lot

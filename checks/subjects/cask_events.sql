-- One row an event of a cask: whether the cask held anything, and its tare beside the register's.
-- flag_as: what the flag is named by, the moment in UTC, so that explanations stay whatever the house says of its zone.
WITH holding AS (
    SELECT contents FROM derived.cask_events WHERE event = 'filled' UNION SELECT lot FROM derived.openings WHERE lot = vessel || '/1'
)
SELECT
    'cask ' || e.cask || ', ' || e.event || ' ' || strftime(timezone(getvariable('house_zone'), timezone('UTC', e.happened_at)), '%Y-%m-%d %H:%M') AS record,
    'cask ' || e.cask || ', ' || e.event || ' ' || strftime(e.happened_at, '%Y-%m-%d %H:%M') AS flag_as,
    e.run, e.contents AS lot, e.cask AS equipment,
    e.source_id, e.line, concat_ws(', ', 'filling ' || e.filling, e.reason) AS note, e.event,
    CASE WHEN e.event IN ('moved', 'filled') THEN NULL WHEN e.contents IN (FROM holding) THEN 'yes' ELSE 'no' END AS cask_holds,
    CASE WHEN e.event = 'moved' AND e.filling > 1 THEN CASE WHEN e.contents IN (FROM holding) THEN 'yes' ELSE 'no' END END AS moved_holds,
    CASE WHEN c.cask IS NULL THEN 'no' ELSE 'yes' END AS is_registered,
    abs(e.tare_kg - c.tare_kg) / nullif(c.tare_kg, 0) AS tare_difference,
    e.net_kg, e.reason
FROM derived.cask_events AS e
LEFT JOIN (SELECT cask, max(tare_kg) AS tare_kg FROM typed.casks GROUP BY cask) AS c USING (cask)
ORDER BY e.cask, e.happened_at, e.event, e.source_id, e.line

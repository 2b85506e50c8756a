-- Each place of the account with the account and the warehouse that it belongs to. Accounts of vessels as the house profile says
-- (offered as "house_accounts"), else: casks are storage, what receives from stills and fermenters is production, the rest
-- processing. Equipment: stills, mash tuns and fermenters are production, filling and dumping of casks storage, the rest
-- processing. A cask lies in the warehouse of its last known place; everything else at the distillery.
WITH casks AS (
    SELECT cask, max(location) AS location FROM typed.casks GROUP BY cask
    UNION ALL SELECT DISTINCT cask, NULL FROM derived.cask_events WHERE cask NOT IN (SELECT cask FROM typed.casks)
),
moved AS (
    SELECT cask, last(location ORDER BY happened_at) AS location FROM derived.cask_events WHERE location IS NOT NULL GROUP BY cask
),
equipment AS (
    SELECT equipment AS place,
           CASE WHEN bool_or(stage IN ('mash', 'ferment', 'strip', 'rectify', 'botanical')) THEN 'production'
                WHEN bool_or(stage IN ('fill', 'dump')) THEN 'storage' ELSE 'processing' END AS account
    FROM derived.runs WHERE equipment IS NOT NULL GROUP BY equipment
),
receivers AS (
    SELECT DISTINCT vessel FROM derived.gauges WHERE direction = 'out' AND stage IN ('ferment', 'strip', 'rectify', 'botanical')
)
SELECT DISTINCT e.place, e.is_vessel,
       CASE WHEN NOT e.is_vessel THEN coalesce(q.account, 'processing')
            WHEN h.account IS NOT NULL THEN h.account WHEN c.cask IS NOT NULL THEN 'storage'
            WHEN e.place IN (FROM receivers) THEN 'production' ELSE 'processing' END AS account,
       CASE WHEN e.is_vessel AND c.cask IS NOT NULL THEN coalesce(m.location, c.location, 'place not recorded') ELSE 'distillery' END AS warehouse
FROM derived.account_entries AS e
LEFT JOIN equipment AS q ON q.place = e.place LEFT JOIN house_accounts AS h ON h.vessel = e.place
LEFT JOIN casks AS c ON c.cask = e.place LEFT JOIN moved AS m ON m.cask = e.place
ORDER BY e.place, e.is_vessel

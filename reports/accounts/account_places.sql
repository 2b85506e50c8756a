-- Each place of the account with the account that it belongs to, at all times (from_at NULL): as the house profile says (offered as
-- "house_accounts"), else casks are storage, what receives from stills and fermenters is production, the rest processing.
-- Equipment: stills, mash tuns and fermenters are production, filling and dumping of casks storage, the rest processing.
WITH equipment AS (
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
            WHEN h.account IS NOT NULL THEN h.account WHEN e.place IN (FROM derived.casks) THEN 'storage'
            WHEN e.place IN (FROM receivers) THEN 'production' ELSE 'processing' END AS part,
       NULL::TIMESTAMP AS from_at
FROM derived.account_entries AS e
LEFT JOIN equipment AS q ON q.place = e.place LEFT JOIN house_accounts AS h ON h.vessel = e.place
ORDER BY e.place, e.is_vessel

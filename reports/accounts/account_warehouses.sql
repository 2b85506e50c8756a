-- Each place of the account with the warehouse that it belongs to, a row a stay: from when on (NULL: from the first). A cask lies where
-- its record says; tanks and runs are at the distillery.
WITH places AS (
    SELECT DISTINCT place, is_vessel FROM derived.account_entries
)
SELECT p.place, p.is_vessel, coalesce(c.location, 'place not recorded') AS part, c.from_at
FROM places AS p JOIN derived.cask_places AS c ON c.cask = p.place
WHERE p.is_vessel
UNION ALL
SELECT place, is_vessel, CASE WHEN is_vessel AND place IN (FROM derived.casks) THEN 'place not recorded' ELSE 'distillery' END, NULL
FROM places
WHERE NOT is_vessel OR place NOT IN (SELECT cask FROM derived.cask_places WHERE from_at IS NULL)
ORDER BY place, is_vessel, from_at NULLS FIRST

-- One row a lot of grain, fruit or sugar: what its certificate says, and what cannot be. Honey has a limit of water where a
-- product is made for the Union (Directive 2001/110/EC, Annex II, point 2), found by the words of its name.
WITH named AS (
    SELECT *, string_split(regexp_replace(lower(strip_accents(material)), '[^\p{L}\d]+', ' ', 'g'), ' ') AS words
    FROM derived.contents
)
SELECT
    'lot ' || lot AS record, lot, source_id, line, material, basis, sugar_of_solids, moisture_pct,
    CASE WHEN list_contains(words, 'honey') AND EXISTS (FROM products WHERE jurisdiction = 'EU')
        THEN CASE WHEN list_has_any(words, ['baker', 'bakers']) AND list_has_any(words, ['heather', 'calluna']) THEN 25.0
                  WHEN list_has_any(words, ['baker', 'bakers', 'heather', 'calluna']) THEN 23.0 ELSE 20.0 END END AS most_moisture_pct,
    material AS note
FROM named
ORDER BY lot

-- One row a count: bottles of a lot, a cask, a tank; what was counted against the book, and by whom.
-- flag_as: what the flag is named by, the moment in UTC, so that explanations stay whatever the house says of its zone.
SELECT
    CASE container WHEN 'cask' THEN 'cask ' || item ELSE 'bottles of lot ' || item END || ', count of ' || strftime(timezone(getvariable('house_zone'), timezone('UTC', counted_at)), '%Y-%m-%d') AS record,
    CASE container WHEN 'cask' THEN 'cask ' || item ELSE 'bottles of lot ' || item END || ', count of ' || strftime(counted_at, '%Y-%m-%d') AS flag_as,
    lot, source_id, line, container, pieces, book_pieces, counted_by,
    CASE WHEN container = 'cased goods' OR line IS NOT NULL THEN 'yes' END AS is_counted,
    coalesce('in ' || places, 'place not recorded') AS note
FROM derived.counts
UNION ALL
SELECT 'tank ' || vessel || ', count of ' || strftime(timezone(getvariable('house_zone'), timezone('UTC', counted_at)), '%Y-%m-%d'), 'tank ' || vessel || ', count of ' || strftime(counted_at, '%Y-%m-%d'), lot, source_id, line, container, NULL, NULL, counted_by, 'yes', NULL
FROM typed.inventory WHERE container = 'tank'
ORDER BY record, lot, line

-- Records that came to the book after a moment (UTC) and stand behind the account of a month or what it opened with.
-- Parameters: the first day of the month, the moment.
WITH gauged AS (
    SELECT gauge, source_id, line FROM derived.gauges
    UNION ALL SELECT gauge, source_id, line FROM derived.openings
    UNION ALL SELECT gauge, source_id, line FROM derived.removals
),
booked AS (
    SELECT e.place, e.entry, e.month, g.source_id, g.line FROM derived.account_entries AS e JOIN gauged AS g USING (gauge)
    UNION ALL
    SELECT product, entry, month, source_id, line FROM derived.goods_entries
)
SELECT DISTINCT b.place, b.entry, b.month < $1 AS is_before, f.name || ':' || b.line AS record
FROM booked AS b JOIN landed.sources AS s USING (source_id) JOIN received.files AS f USING (file_id)
WHERE b.month <= $1 AND f.received_at > $2
ORDER BY ALL

-- Kept files with what tells whether reading them anew may change anything.
SELECT f.*, coalesce(c.may_change, false) AS may_change
FROM received.files AS f
LEFT JOIN (
    SELECT s.file_id, bool_or(c.refused > 0 OR c.held > 0) AS may_change
    FROM typed.row_counts AS c JOIN landed.sources AS s USING (source_id)
    GROUP BY s.file_id
) AS c USING (file_id)
ORDER BY f.file_id

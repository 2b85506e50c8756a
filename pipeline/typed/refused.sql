-- Refused rows with the place they stand on, in reading order.
SELECT f.name || CASE WHEN s.sheet IS NULL THEN '' ELSE ', sheet ' || s.sheet END || ':' || r.line AS place,
       f.name AS file, s.sheet, r.line, c.kinds AS kind, r.code, r.column_name, r.value, r.expected, r.to_do, r.raw
FROM typed.refused AS r
JOIN landed.sources AS s USING (source_id)
JOIN received.files AS f USING (file_id)
LEFT JOIN (
    SELECT source_id, string_agg(DISTINCT kind, ' or ' ORDER BY kind) AS kinds
    FROM typed.row_counts WHERE refused > 0 GROUP BY source_id
) AS c USING (source_id)
ORDER BY f.file_id, r.source_id, r.line, r.column_name, r.code

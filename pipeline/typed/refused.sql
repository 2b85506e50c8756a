-- Refused rows with the place they stand on, in reading order.
SELECT f.name || CASE WHEN s.sheet IS NULL THEN '' ELSE ', sheet ' || s.sheet END || ':' || r.line AS place,
       f.name AS file, s.sheet, r.line, any_value(c.kind) AS kind, r.code, r.column_name, r.value, r.expected, r.to_do, r.raw
FROM typed.refused AS r
JOIN landed.sources AS s USING (source_id)
JOIN received.files AS f USING (file_id)
LEFT JOIN typed.row_counts AS c ON c.source_id = r.source_id AND c.refused > 0
GROUP BY ALL
ORDER BY f.file_id, s.source_id, r.line, r.column_name

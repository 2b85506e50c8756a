-- Files that the batch rests on, with the rows of the whole file that were kept and refused.
WITH still_runs AS (
    SELECT equipment, started_at, coalesce(ended_at, started_at + INTERVAL 24 HOUR) AS ended_at
    FROM typed.runs WHERE run IN $runs AND stage IN ('strip', 'rectify', 'botanical')
), rested_on AS (
    SELECT source_id FROM typed.runs WHERE run IN $runs
    UNION SELECT source_id FROM typed.movements WHERE run IN $runs
    UNION SELECT source_id FROM derived.openings WHERE lot IN $lots
    UNION SELECT source_id FROM typed.laboratory WHERE lot IN $lots
    UNION SELECT source_id FROM typed.bottling WHERE lot = $batch
    UNION SELECT source_id FROM typed.fills WHERE lot = $batch
    UNION SELECT source_id FROM typed.panel WHERE lot IN $lots
    UNION SELECT source_id FROM still_runs JOIN typed.log_blocks
        ON log_blocks.equipment = still_runs.equipment AND first_at <= ended_at AND last_at >= started_at
), counted AS (
    SELECT source_id, sum(kept) AS kept, sum(refused) AS refused FROM typed.row_counts GROUP BY source_id
)
SELECT file_id, name, sha256, size_bytes, map,
       coalesce(sum(kept), 0)::BIGINT AS kept, coalesce(sum(refused), 0)::BIGINT AS refused
FROM received.files
JOIN landed.sources USING (file_id)
LEFT JOIN counted USING (source_id)
WHERE file_id IN (SELECT file_id FROM landed.sources WHERE source_id IN (SELECT source_id FROM rested_on))
GROUP BY file_id, name, sha256, size_bytes, map
ORDER BY name, sha256;

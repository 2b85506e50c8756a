-- What became of the flags of this batch: those that stand before it, and those on its records that were amended away.
SELECT flag, state, rule, record, severity, person, role, reason, happened_at, attachment, attachment_sha256
FROM history.flag_states
WHERE flag IN (SELECT flag FROM flagged.batch_flags WHERE batch = $batch)
    OR (state = 'amended away' AND (
        batch = $batch OR (batch IS NULL AND run IN $runs) OR (batch IS NULL AND run IS NULL AND lot IN $lots)
    ))
ORDER BY rule, record, flag;

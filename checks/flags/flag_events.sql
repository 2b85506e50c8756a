-- What this check changes in the life of the flags: $happened_at is its time. A flag stays explained while answer, severity and
-- value stay what they were.
WITH states AS (FROM history.flag_states),
names AS (              -- the runs and lots whose records a flag that is there no more may have rested on
    SELECT flag, 'run' AS field, run AS name FROM states
    UNION SELECT flag, 'lot', unnest([lot, batch]) FROM states
    UNION SELECT flag, 'run', lineage.run FROM states JOIN derived.lineage AS lineage ON lineage.batch = states.batch
    UNION SELECT flag, 'lot', unnest([lineage.lot, lineage.into_lot])
    FROM states JOIN derived.lineage AS lineage ON lineage.batch = states.batch
    UNION SELECT flag, 'lot', gauges.lot FROM states JOIN derived.gauges AS gauges ON gauges.run = states.run
),
amended AS (
    SELECT states.flag, 'amendment ' || string_agg(DISTINCT amendments.amendment::VARCHAR, ', ' ORDER BY amendments.amendment::VARCHAR) AS reason
    FROM states
    JOIN typed.amendments AS amendments ON amendments.amended_at >= states.happened_at
    JOIN names ON names.flag = states.flag AND amendments.record_key ->> names.field = names.name
    GROUP BY states.flag
),
events AS (
    SELECT
        flags.flag,
        CASE
            WHEN states.flag IS NULL THEN 'opened'
            WHEN states.state = 'open' THEN 'changed'
            ELSE 'reopened'
        END AS happened,
        flags.rule, flags.record, flags.run, flags.lot, flags.batch, flags.answer, flags.severity,
        flags.value, flags.limits, NULL AS reason
    FROM flagged.flags AS flags
    LEFT JOIN states ON states.flag = flags.flag
    WHERE states.flag IS NULL OR states.state IN ('amended away', 'gone')
        OR (states.answer, states.severity) <> (flags.answer, flags.severity)
        OR states.value IS DISTINCT FROM flags.value
    UNION ALL
    SELECT
        states.flag, CASE WHEN amended.flag IS NULL THEN 'gone' ELSE 'amended away' END,
        states.rule, states.record, states.run, states.lot, states.batch, states.answer, states.severity,
        states.value, states.limits, amended.reason
    FROM states
    LEFT JOIN amended ON amended.flag = states.flag
    WHERE states.state NOT IN ('amended away', 'gone') AND states.flag NOT IN (SELECT flag FROM flagged.flags)
)
SELECT
    (SELECT coalesce(max(event), 0) FROM history.flag_events)
        + row_number() OVER (ORDER BY happened, rule, record, flag) AS event,
    $happened_at::TIMESTAMP AS happened_at, events.*
FROM events
ORDER BY event

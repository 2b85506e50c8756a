-- Every flag of the last check: its life, when it was first raised, the day of its record, the batches that it stands before.
WITH raised AS (
    SELECT flag, min(happened_at) AS raised_at FROM history.flag_events WHERE happened = 'opened' GROUP BY flag
),
made AS (
    SELECT lots.lot, coalesce(lots.made_at, min(intake.received_at)) AS made_at
    FROM derived.lots LEFT JOIN typed.intake ON intake.lot = lots.lot
    GROUP BY lots.lot, lots.made_at
),
before AS (SELECT flag, list(batch ORDER BY batch) AS batches FROM flagged.batch_flags GROUP BY flag)
SELECT
    flags.flag, flags.rule, flags.severity, flags.answer, flags.record, flags.message, flags.citation, flags.run, flags.lot,
    flags.batch, coalesce(before.batches, []) AS batches, raised.raised_at,
    coalesce(runs.ended_at, runs.started_at, bottlings.bottled_at, made.made_at) AS recorded_at,
    coalesce(states.state, 'open') AS state, states.person, states.reason, states.happened_at AS state_at,
    files.name || coalesce(', sheet ' || sources.sheet, '') || ':' || flags.line AS place
FROM flagged.flags
LEFT JOIN history.flag_states AS states ON states.flag = flags.flag
LEFT JOIN raised ON raised.flag = flags.flag
LEFT JOIN before ON before.flag = flags.flag
LEFT JOIN derived.runs ON runs.run = flags.run
LEFT JOIN derived.bottlings ON bottlings.batch = flags.batch
LEFT JOIN made ON made.lot = flags.lot
LEFT JOIN landed.sources ON sources.source_id = flags.source_id
LEFT JOIN received.files ON files.file_id = sources.file_id
ORDER BY flags.severity DESC, raised.raised_at, flags.rule, flags.record, flags.flag;

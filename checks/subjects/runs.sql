-- One row a run: its record, its balance and what the house knows of its people and equipment.
WITH logged AS (
    SELECT run, count(*) AS tags FROM derived.log_summaries WHERE points > 0 GROUP BY run
),
counted AS (
    SELECT run, nullif(count(*) FILTER (direction = 'in'), 0) AS gauged_in,
        nullif(count(*) FILTER (direction = 'out'), 0) AS gauged_out
    FROM derived.movements
    GROUP BY run
)
SELECT
    'run ' || runs.run AS record, runs.run, runs.equipment, runs.source_id, runs.line,
    runs.stage, runs.product, runs.operator, people.code AS operator_in_profile,
    runs.started_at, runs.ended_at,
    date_diff('second', runs.started_at, runs.ended_at) / 3600.0 AS hours,
    balances.alcohol_in_l, balances.alcohol_out_l, balances.loss_l,
    -- with a gauge missing, what the others may be off by at most
    coalesce(balances.u_loss_l, balances.u_alcohol_in_l + balances.u_alcohol_out_l) AS u_loss_l,
    'not gauged: ' || balances.missing_gauges AS note,
    balances.recovery, balances.u_recovery, balances.closure, balances.u_closure,
    balances.volume_in_l, stills.capacity_l,
    stills.log_interval_s, logged.tags AS logged_tags, counted.gauged_in, counted.gauged_out,
    -- how far the cuts lie outside the run, or the second before the first
    greatest(
        0, date_diff('second', runs.hearts_from, runs.started_at), date_diff('second', runs.ended_at, runs.hearts_to),
        date_diff('second', runs.hearts_to, runs.hearts_from)
    ) / 60.0 AS cuts_outside_min, runs.hearts_from
FROM derived.runs
LEFT JOIN derived.run_balances AS balances ON balances.run = runs.run
LEFT JOIN house_people AS people ON people.code = runs.operator
LEFT JOIN house_stills AS stills ON stills.code = runs.equipment
LEFT JOIN logged ON logged.run = runs.run
LEFT JOIN counted ON counted.run = runs.run
ORDER BY runs.started_at, runs.run

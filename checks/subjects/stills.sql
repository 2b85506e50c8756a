-- Stripping recovery of each still in order of time; the drift of a still is read from it. With it in words when the
-- still last lost more than is usual, beyond what its gauges could feign.
WITH losses AS (
    SELECT equipment, first(
        'lost ' || printf('%.1f', excess_l) || ' ± ' || printf('%.1f', 2 * u_excess_l) || ' LPA more than usual from '
        || first_run || ' to ' || last_run || ', significant with ' || signal_run || ' in week ' || week
        ORDER BY first_at DESC, first_run
    ) AS loss
    FROM derived.loss_signals WHERE stage = 'strip' GROUP BY equipment
)
SELECT balances.equipment, balances.run, balances.recovery, losses.loss
FROM derived.run_balances AS balances LEFT JOIN losses ON losses.equipment = balances.equipment
WHERE balances.stage = 'strip' AND balances.recovery IS NOT NULL
ORDER BY balances.equipment, coalesce(balances.ended_at, balances.started_at), balances.run

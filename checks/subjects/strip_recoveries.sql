-- Stripping recovery of each still in order of time; the drift of a still is read from it.
SELECT equipment, run, recovery
FROM derived.run_balances
WHERE stage = 'strip' AND recovery IS NOT NULL
ORDER BY equipment, coalesce(ended_at, started_at), run

-- Every ended run of the measures that trends are drawn from, in order: what it gave and what it was charged with.
-- Yields per tonne are kept apart by mash recipe, since apples and rye do not promise the same; recoveries by still.
WITH runs AS (
    SELECT 'yield_l_per_t' AS measure, coalesce(mash.recipe, 'no recipe on record') AS "group", yields.run,
           yields.ended_at, yields.alcohol_l AS output, yields.grain_kg / 1000 AS charge
    FROM derived.ferment_yields AS yields LEFT JOIN typed.runs AS mash ON mash.run = yields.mash_run
    UNION ALL
    SELECT 'yield_against_prediction', '', run, ended_at, alcohol_l, predicted_alcohol_l FROM derived.ferment_yields
    UNION ALL
    SELECT stage || '_recovery', equipment, run, ended_at, hearts_l, alcohol_in_l
    FROM derived.run_balances WHERE stage IN ('strip', 'rectify')
)
SELECT measure, "group", run, ended_at, output, charge FROM runs
WHERE ended_at IS NOT NULL
ORDER BY measure, "group", ended_at, run;

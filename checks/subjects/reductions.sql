-- One row a reduction: the strength that spirit and water together must have, by mass, against what was gauged after.
-- The mass fraction becomes a strength outside SQL; its relative uncertainty is that of alcohol and mass together.
WITH fed AS (
    SELECT
        run, sum(alcohol_l) * any_value(site.ethanol_density_kg_l) / nullif(sum(mass_kg), 0) AS mass_fraction,
        sqrt(sum(u_alcohol_l ** 2)) / nullif(sum(alcohol_l), 0) AS ur_alcohol,
        sqrt(sum((mass_kg * u_volume_l / nullif(volume_l, 0)) ** 2)) / nullif(sum(mass_kg), 0) AS ur_mass,
        bool_and(mass_kg IS NOT NULL AND (alcohol_l IS NOT NULL OR part = 'water')) AS complete
    FROM derived.gauges
    CROSS JOIN site
    WHERE direction = 'in' AND stage = 'reduce'
    GROUP BY run
),
made AS (
    SELECT run, first(lot ORDER BY alcohol_l DESC, lot) FILTER (alcohol_l IS NOT NULL) AS lot,
        first(strength_pct_vol ORDER BY alcohol_l DESC, lot) FILTER (alcohol_l IS NOT NULL) AS strength_pct_vol,
        first(u_strength_pct_vol ORDER BY alcohol_l DESC, lot) FILTER (alcohol_l IS NOT NULL) AS u_strength_pct_vol
    FROM derived.gauges
    WHERE direction = 'out' AND stage = 'reduce'
    GROUP BY run
)
SELECT
    'run ' || runs.run AS record, runs.run, made.lot, runs.equipment, runs.source_id, runs.line,
    made.strength_pct_vol, made.u_strength_pct_vol,
    CASE WHEN fed.complete THEN fed.mass_fraction END AS mass_fraction,
    sqrt(coalesce(fed.ur_alcohol, 0) ** 2 + coalesce(fed.ur_mass, 0) ** 2) AS ur_predicted
FROM derived.runs AS runs
LEFT JOIN fed ON fed.run = runs.run
LEFT JOIN made ON made.run = runs.run
WHERE runs.stage = 'reduce' AND runs.ended_at IS NOT NULL
ORDER BY runs.started_at, runs.run

-- One row a botanical or steep run, and any other run that names a recipe or is of a stage for which the house has one: is
-- the recipe known for its stage, how long and at what strength was charged. The strength of spirit and
-- water together goes by mass (volumes do not add up): mass fraction first, strength from it outside SQL.
WITH liquids AS (
    SELECT
        run, sum(alcohol_l) * any_value(site.ethanol_density_kg_l) / nullif(sum(mass_kg), 0) AS mass_fraction,
        bool_and(mass_kg IS NOT NULL AND (alcohol_l IS NOT NULL OR part = 'water')) AS complete
    FROM derived.gauges
    CROSS JOIN site
    WHERE direction = 'in' AND part NOT IN ('botanical', 'fruit', 'grain', 'sugar', 'yeast', 'packaging')
    GROUP BY run
)
SELECT
    'run ' || runs.run AS record, runs.run, runs.equipment, runs.source_id, runs.line, runs.stage, runs.recipe,
    recipes.name AS recipe_in_profile, recipes.steep_days, recipes.charge_strength_pct_vol AS recipe_strength_pct_vol,
    date_diff('second', runs.started_at, runs.ended_at) / 86400.0 AS days,
    CASE WHEN liquids.complete THEN liquids.mass_fraction END AS mass_fraction
FROM derived.runs
LEFT JOIN house_recipes AS recipes ON recipes.name = runs.recipe AND recipes.stage = runs.stage
LEFT JOIN liquids ON liquids.run = runs.run
WHERE runs.stage IN ('botanical', 'steep') OR runs.recipe IS NOT NULL OR runs.stage IN (SELECT stage FROM house_recipes)
ORDER BY runs.started_at, runs.run

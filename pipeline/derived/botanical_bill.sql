-- What a botanical or steep run was charged with, against its recipe: one row a botanical of either.
INSERT INTO derived.botanical_bill BY NAME
WITH charges AS (
    SELECT g.run, i.material AS botanical, string_agg(DISTINCT g.lot, ', ' ORDER BY g.lot) AS lots,
           sum(g.mass_kg) AS charged_kg, min(i.condition) AS condition
    FROM derived.gauges AS g
    JOIN (SELECT DISTINCT lot, material, condition FROM derived.openings) AS i USING (lot)
    WHERE g.direction = 'in' AND g.part IN ('botanical', 'fruit') AND g.stage IN ('botanical', 'steep')
    GROUP BY g.run, i.material
),
alcohol AS (
    SELECT run, sum(alcohol_l) AS alcohol_l FROM derived.gauges WHERE direction = 'in' GROUP BY run
),
asked AS (
    SELECT r.run, i.material AS botanical, i.g_per_lpa, i.condition
    FROM typed.runs AS r JOIN derived.house_ingredients AS i ON i.recipe = r.recipe
    WHERE r.stage IN ('botanical', 'steep')
)
SELECT
    r.run, r.stage, r.recipe, coalesce(a.botanical, c.botanical) AS botanical, c.lots,
    c.charged_kg, alcohol.alcohol_l,
    1000 * c.charged_kg / nullif(alcohol.alcohol_l, 0) AS charged_g_per_lpa,
    a.g_per_lpa AS recipe_g_per_lpa,
    1000 * c.charged_kg / nullif(alcohol.alcohol_l, 0) / nullif(a.g_per_lpa, 0) AS ratio,
    c.condition, a.condition AS recipe_condition
FROM asked AS a
FULL JOIN charges AS c ON c.run = a.run AND c.botanical = a.botanical
JOIN typed.runs AS r ON r.run = coalesce(a.run, c.run)
LEFT JOIN alcohol ON alcohol.run = r.run
ORDER BY r.run, botanical;

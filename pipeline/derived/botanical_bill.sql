-- made from: derived.recipe_bill
-- The bills of botanical runs and steeps, by litre of pure alcohol.
INSERT INTO derived.botanical_bill BY NAME
SELECT run, stage, recipe, material AS botanical, lots, charged_kg, alcohol_l,
       1000 * charged_kg / nullif(alcohol_l, 0) AS charged_g_per_lpa,
       CASE WHEN measure = 'g/LPA' THEN recipe_quantity END AS recipe_g_per_lpa,
       CASE WHEN measure = 'g/LPA' THEN ratio END AS ratio, condition, recipe_condition
FROM derived.recipe_bill
WHERE stage IN ('botanical', 'steep')
ORDER BY run, botanical;

-- One row a run and botanical of its recipe or its charge. What the recipe asks and nobody charged is a charge of 0.
SELECT
    'run ' || bill.run || ', ' || bill.botanical AS record, bill.run, runs.equipment, runs.source_id, runs.line,
    bill.botanical, ingredients.material AS in_recipe,
    CASE WHEN bill.recipe_g_per_lpa IS NOT NULL AND bill.charged_kg IS NULL THEN 0.0 ELSE bill.ratio END AS ratio,
    bill.recipe_g_per_lpa, bill.condition, bill.recipe_condition,
    concat_ws(', ',
        printf('%.2f g/LPA', bill.charged_g_per_lpa) || coalesce(printf(' against %.2f', bill.recipe_g_per_lpa), ''),
        'lots ' || bill.lots) AS note
FROM derived.botanical_bill AS bill
JOIN typed.runs ON runs.run = bill.run
LEFT JOIN house_ingredients AS ingredients
    ON ingredients.recipe = bill.recipe AND ingredients.material = bill.botanical
ORDER BY runs.started_at, bill.run, bill.botanical

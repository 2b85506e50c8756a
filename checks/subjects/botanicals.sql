-- One row a run and botanical of its recipe or its charge. What the recipe asks and nobody charged is a charge of 0.
WITH weighed AS (
    SELECT gauges.run, came.material,
        first((gauges.source_id, gauges.line) ORDER BY gauges.gauged_at, gauges.lot, gauges.source_id, gauges.line) AS place
    FROM derived.gauges
    JOIN (SELECT DISTINCT lot, material FROM derived.openings) AS came ON came.lot = gauges.lot
    WHERE gauges.direction = 'in'
    GROUP BY gauges.run, came.material
)
SELECT
    'run ' || bill.run || ', ' || bill.botanical AS record, bill.run, runs.equipment,
    coalesce(weighed.place[1], runs.source_id) AS source_id, coalesce(weighed.place[2], runs.line) AS line,
    bill.botanical, ingredients.material AS in_recipe,
    CASE WHEN bill.recipe_g_per_lpa IS NOT NULL AND bill.charged_kg IS NULL THEN 0.0 ELSE bill.ratio END AS ratio,
    bill.recipe_g_per_lpa, bill.condition, bill.recipe_condition,
    concat_ws(', ',
        printf('%.2f g/LPA', bill.charged_g_per_lpa) || coalesce(printf(' against %.2f', bill.recipe_g_per_lpa), ''),
        'lots ' || array_to_string(bill.lots, ', ')) AS note
FROM derived.botanical_bill AS bill
JOIN derived.runs ON runs.run = bill.run
LEFT JOIN weighed ON weighed.run = bill.run AND weighed.material = bill.botanical
LEFT JOIN house_ingredients AS ingredients
    ON ingredients.recipe = bill.recipe AND ingredients.material = bill.botanical
ORDER BY runs.started_at, bill.run, bill.botanical

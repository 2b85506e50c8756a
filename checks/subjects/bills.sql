-- One row a run with a recipe and ingredient of its recipe or its charge, in every stage. Grams of a botanical or a fruit
-- for each litre of pure alcohol, in botanical runs and steeps, are the matter of the subject botanicals.
WITH places AS (        -- the first line of each ingredient's lots
    SELECT bill.run, bill.material, min((gauges.source_id, gauges.line)) AS place
    FROM derived.recipe_bill AS bill
    JOIN derived.gauges ON gauges.run = bill.run AND gauges.direction = 'in'
        AND list_contains(bill.lots, gauges.lot)
    GROUP BY bill.run, bill.material
)
SELECT
    'run ' || bill.run || ', ' || bill.material AS record, bill.run, runs.equipment,
    coalesce(places.place[1], runs.source_id) AS source_id, coalesce(places.place[2], runs.line) AS line,
    bill.stage, bill.material, bill.in_recipe, array_to_string(bill.lots, ', ') AS charged, bill.condition, bill.recipe_condition, bill.recipe_quantity,
    CASE WHEN bill.stage IN ('botanical', 'steep') AND bill.measure = 'g/LPA' THEN 'botanicals' ELSE 'bills' END AS looked_at_in,
    CASE WHEN bill.recipe_quantity IS NULL THEN 'any' ELSE 'measured' END AS asked_quantity,
    CASE WHEN bill.recipe_quantity IS NOT NULL AND NOT bill.is_charged THEN 0.0 ELSE bill.ratio END AS ratio,
    concat_ws(', ',
        CASE bill.measure
            WHEN 'share' THEN printf('%.1f %%', 100 * bill.charged_quantity) || coalesce(printf(' against %.1f', 100 * bill.recipe_quantity), '')
            ELSE printf('%.2f ', bill.charged_quantity) || bill.measure || coalesce(printf(' against %.2f', bill.recipe_quantity), '') END,
        'lots ' || array_to_string(bill.lots, ', ')) AS note
FROM derived.recipe_bill AS bill
JOIN derived.runs ON runs.run = bill.run
LEFT JOIN places ON places.run = bill.run AND places.material = bill.material
ORDER BY runs.started_at, bill.run, bill.material

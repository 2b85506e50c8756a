-- made from: derived.movements, derived.runs, derived.gauges, derived.house_ingredients, derived.house_recipes, derived.openings
-- What each run was charged with, against its recipe: one row a run and ingredient of either.
-- A charge goes by its names: material as received, else recipe, product or part as it was made, else its lot. What is added
-- (grain, fruit, botanicals, sweetening) must be listed; of water, yeast and what carries alcohol a recipe that names one
-- names all, and a blend names all that carries alcohol. Without a recipe of its stage only a botanical run or a steep has a bill.
INSERT INTO derived.recipe_bill BY NAME
WITH asked AS (
    SELECT r.run, r.stage, r.recipe, i.material, i.condition,
           CASE WHEN i.g_per_lpa IS NOT NULL THEN 'g/LPA' WHEN i.g_per_l IS NOT NULL THEN 'g/L'
                WHEN i.share IS NOT NULL THEN 'share' END AS measure,
           coalesce(i.g_per_lpa, i.g_per_l, i.share) AS quantity
    FROM derived.runs AS r
    JOIN derived.house_recipes AS h ON h.name = r.recipe AND h.stage = r.stage
    JOIN derived.house_ingredients AS i ON i.recipe = h.name
),
made AS (
    SELECT m.lot, min(r.recipe) AS recipe, min(r.product) AS product, min(m.part) AS part
    FROM derived.movements AS m LEFT JOIN derived.runs AS r USING (run) WHERE m.direction = 'out' GROUP BY m.lot
),
charges AS (
    SELECT g.run, g.stage, g.lot, CASE WHEN g.part IN ('grain', 'fruit', 'sugar') THEN g.mass_kg ELSE t.mass_kg END AS mass_kg, g.alcohol_l, i.condition, coalesce(i.material, made.recipe, made.product, g.part) AS own_name,
           list_filter([i.material, made.recipe, made.product, made.part, g.part, g.lot], lambda name: name IS NOT NULL) AS names,
           CASE WHEN g.part IN ('grain', 'fruit', 'sugar', 'botanical', 'sweetening') THEN 'added'
                WHEN g.part IN ('water', 'yeast', 'packaging') THEN g.part ELSE 'liquid' END AS class
    FROM derived.gauges AS g
    JOIN derived.movements AS t ON t.source_id = g.source_id AND t.line = g.line AND t.lot = g.lot AND t.direction = 'in'
    LEFT JOIN (SELECT DISTINCT lot, material, condition FROM derived.openings) AS i ON i.lot = g.lot
    LEFT JOIN made ON made.lot = g.lot
    WHERE g.direction = 'in'
),
matched AS (
    SELECT c.*, a.material AS listed_as
    FROM charges AS c
    LEFT JOIN asked AS a ON a.run = c.run AND list_contains(c.names, a.material)
    QUALIFY row_number() OVER (PARTITION BY c.run, c.lot ORDER BY list_position(c.names, a.material), a.material) = 1
),
named AS (              -- classes of which a recipe names something
    SELECT r.recipe, m.class FROM matched AS m JOIN derived.runs AS r USING (run) WHERE m.listed_as IS NOT NULL
    UNION SELECT a.recipe, 'liquid' FROM asked AS a JOIN made ON a.material IN (made.recipe, made.product, made.part)
    UNION SELECT a.recipe, CASE i.kind WHEN 'neutral spirit' THEN 'liquid' ELSE i.kind END FROM asked AS a JOIN derived.openings AS i USING (material)
),
billed AS (             -- runs that have a bill
    SELECT run FROM asked UNION SELECT run FROM derived.runs WHERE stage IN ('botanical', 'steep')
),
charged AS (
    SELECT m.run, coalesce(m.listed_as, m.own_name) AS material, list(DISTINCT m.lot ORDER BY m.lot) AS lots,
           CASE WHEN count(m.mass_kg) = count(*) THEN sum(m.mass_kg) END AS charged_kg, sum(m.alcohol_l) AS charged_alcohol_l,
           min(m.condition) AS condition, bool_or(m.class = 'liquid') AS is_liquid
    FROM matched AS m JOIN billed USING (run) JOIN derived.runs AS r USING (run)
    WHERE m.listed_as IS NOT NULL OR m.class = 'added' OR (m.class = 'liquid' AND m.stage = 'blend')
       OR (m.class <> 'packaging' AND (r.recipe, m.class) IN (FROM named))
    GROUP BY ALL
),
totals AS (
    SELECT run, sum(alcohol_l) FILTER (direction = 'in') AS alcohol_l,
           sum(mass_kg) FILTER (direction = 'in' AND part IN ('grain', 'fruit', 'sugar', 'botanical', 'sweetening')) AS added_kg,
           sum(volume_l) FILTER (direction = 'out' AND part <> 'spent') AS made_l
    FROM derived.gauges GROUP BY run
),
bill AS (
    SELECT coalesce(a.run, c.run) AS run, coalesce(a.material, c.material) AS material, a.material AS in_recipe, c.lots, c.charged_kg,
           c.charged_alcohol_l, c.condition, a.condition AS recipe_condition, coalesce(a.measure, 'g/LPA') AS measure,
           a.quantity AS recipe_quantity, c.lots IS NOT NULL AS is_charged, coalesce(c.is_liquid, false) AS is_liquid
    FROM asked AS a FULL JOIN charged AS c ON c.run = a.run AND c.material = a.material
)
SELECT b.run, r.stage, r.recipe, b.material, b.in_recipe, b.lots, b.charged_kg, b.charged_alcohol_l, t.alcohol_l, b.is_charged, b.measure,
       CASE WHEN b.measure = 'share' AND b.is_liquid THEN b.charged_alcohol_l / nullif(t.alcohol_l, 0)
            WHEN b.measure = 'share' THEN b.charged_kg / nullif(t.added_kg, 0)
            WHEN b.measure = 'g/L' THEN 1000 * b.charged_kg / nullif(t.made_l, 0)
            ELSE 1000 * b.charged_kg / nullif(t.alcohol_l, 0) END AS charged_quantity,
       b.recipe_quantity, charged_quantity / b.recipe_quantity AS ratio, b.condition, b.recipe_condition
FROM bill AS b JOIN derived.runs AS r USING (run) LEFT JOIN totals AS t USING (run)
ORDER BY b.run, b.material;

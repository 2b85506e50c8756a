-- made from: derived.gauges, derived.runs, derived.openings, derived.contents, derived.house_recipes, derived.house_ingredients
-- What each mash, and each ferment that is fed directly, was charged with of grain, fruit and sugar: the mass of each lot, its
-- share of the bill, and the alcohol that its certificate promises. A sum of which a part is not known is not known.
INSERT INTO derived.mash_bill BY NAME
WITH charged AS (
    SELECT g.run, g.stage, g.lot, min(g.part) AS part,
           -- a volume without Brix has no mass: derived.gauges takes none for it
           CASE WHEN count(g.mass_kg) = count(*) THEN sum(g.mass_kg ORDER BY g.mass_kg) END AS mass_kg,
           min((g.source_id, g.line)) AS place
    FROM derived.gauges AS g
    WHERE g.direction = 'in' AND g.stage IN ('mash', 'ferment') AND g.part IN ('grain', 'fruit', 'sugar', 'sweetening')
    GROUP BY g.run, g.stage, g.lot
),
named AS (
    SELECT lot, min(material) AS material, min(kind) AS kind FROM derived.openings GROUP BY lot
),
certified AS (          -- the share that ferments: of extract by the lot's own certificate, else by the recipe
    SELECT c.run, c.stage, c.lot, n.material, n.kind, c.part, c.mass_kg, c.place, t.* EXCLUDE (lot, material, kind, fermentability, not_known, source_id, line),
           coalesce(t.fermentability, i.fermentability, r.fermentability) AS fermentability,
           coalesce(t.not_known, CASE WHEN t.lot IS NULL THEN 'no certificate' END) AS not_certified
    FROM charged AS c
    LEFT JOIN named AS n USING (lot)
    LEFT JOIN derived.contents AS t USING (lot)
    LEFT JOIN derived.runs AS run ON run.run = c.run
    LEFT JOIN derived.house_recipes AS r ON r.name = run.recipe
    LEFT JOIN derived.house_ingredients AS i ON i.recipe = run.recipe AND i.material = n.material
),
promised AS (
    SELECT run, stage, lot, material, kind, part, basis, mass_kg, place, mass_kg * dry_pct / 100 AS dry_kg,
           mass_kg * extract_kg_per_kg AS extract_kg, fermentability,
           -- of extract and solids a part alone can ferment; of sugar and starch all can
           mass_kg * CASE WHEN basis IN ('extract', 'solids') THEN fermentability ELSE 1 END AS fermenting_kg,
           fermenting_kg * fermentable_kg_per_kg AS fermentable_kg, fermenting_kg * possible_l_per_kg AS possible_alcohol_l,
           mass_kg * fermentability * predicted_l_per_kg AS predicted_alcohol_l,
           CASE WHEN mass_kg IS NULL THEN 'no mass' WHEN not_certified IS NOT NULL THEN not_certified
                WHEN fermentability IS NULL THEN 'no fermentability' END AS not_known
    FROM certified
)
SELECT * EXCLUDE (place, fermenting_kg),
       mass_kg / nullif(CASE WHEN count(mass_kg) OVER whole = count(*) OVER whole THEN sum(mass_kg) OVER whole END, 0) AS share,
       dry_kg / nullif(CASE WHEN count(dry_kg) OVER whole = count(*) OVER whole THEN sum(dry_kg) OVER whole END, 0) AS dry_share,
       fermentable_kg / nullif(CASE WHEN count(fermentable_kg) OVER whole = count(*) OVER whole THEN sum(fermentable_kg) OVER whole END, 0)
           AS fermentable_share,
       predicted_alcohol_l / nullif(CASE WHEN count(predicted_alcohol_l) OVER whole = count(*) OVER whole
                                         THEN sum(predicted_alcohol_l) OVER whole END, 0) AS predicted_share,
       place[1] AS source_id, place[2] AS line
FROM promised
WINDOW whole AS (PARTITION BY run)
ORDER BY run, lot

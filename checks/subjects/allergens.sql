-- One row a batch and allergen of the materials behind it, where the profile says what the label names. Present: added
-- after the last distillation. May be present: distilled without an exemption in the text, or listed above an amount only.
WITH RECURSIVE named AS (                   -- batches of products of which the profile says what the label names
    SELECT batch, product, jurisdiction FROM batch_products WHERE label_names_allergens
),
after_distillation AS (                     -- what reached the batch without passing a still
    SELECT DISTINCT batch, lot FROM derived.lineage SEMI JOIN named USING (batch) WHERE depth = 1
    UNION
    SELECT lineage.batch, lineage.lot
    FROM after_distillation AS reached
    JOIN derived.lineage ON lineage.batch = reached.batch AND lineage.into_lot = reached.lot
        AND lineage.stage NOT IN ('strip', 'rectify', 'botanical')
),
materials AS (
    SELECT DISTINCT lot, material, string_split(regexp_replace(lower(strip_accents(material)), '[^\p{L}\d]+', ' ', 'g'), ' ') AS words
    FROM derived.openings
    WHERE kind NOT IN ('packaging', 'water', 'yeast')
),
found AS (
    SELECT DISTINCT lineage.batch, limits.allergen, materials.material,
        reached.lot IS NULL AS is_distilled, limits.distillates_exempt, limits.by_amount
    FROM derived.lineage
    JOIN named AS products ON products.batch = lineage.batch
    JOIN materials ON materials.lot = lineage.lot
    JOIN limit_allergens AS limits ON limits.jurisdiction = products.jurisdiction
        AND list_has_all(materials.words, limits.words) AND NOT list_has_any(materials.words, limits.unless)
    LEFT JOIN after_distillation AS reached ON reached.batch = lineage.batch AND reached.lot = lineage.lot
)
SELECT
    'batch ' || found.batch || ', ' || found.allergen AS record, found.batch, bottling.source_id, bottling.line,
    found.allergen,
    CASE WHEN bool_or(NOT is_distilled AND NOT by_amount) THEN 'present' ELSE 'may be present' END AS standing,
    CASE WHEN found.allergen IN (
        SELECT allergen FROM house_allergens WHERE house_allergens.product = products.product
    ) THEN 'named' END AS on_label,
    'of ' || string_agg(DISTINCT found.material || CASE WHEN is_distilled THEN ', distilled' ELSE '' END, '; '
        ORDER BY found.material || CASE WHEN is_distilled THEN ', distilled' ELSE '' END) AS note
FROM found
JOIN named AS products ON products.batch = found.batch
JOIN typed.bottling ON bottling.lot = found.batch
WHERE NOT (is_distilled AND distillates_exempt)
GROUP BY found.batch, found.allergen, products.product, bottling.source_id, bottling.line
ORDER BY found.batch, found.allergen

-- What the certificate of each lot of grain, fruit or sugar says of it; of a lot that came in parts, the first that says it.
WITH came AS (
    SELECT lot, material, kind, received_at AS came_at, source_id, line, extract_pct, moisture_pct, fermentability_pct,
           original_gravity, final_gravity, brix, purity_pct, sugar_free_extract_g_l, potential_alcohol_pct_vol, total_sugars_pct, reducing_sugars_pct,
           sucrose_pct, lactose_pct, starch_pct, fructan_pct, sugar_g_l, juice_l_per_100kg
    FROM typed.intake
    UNION ALL BY NAME
    SELECT lot, material, kind, counted_at AS came_at, source_id, line, extract_pct, moisture_pct, fermentability_pct,
           original_gravity, final_gravity, brix, purity_pct, sugar_free_extract_g_l, potential_alcohol_pct_vol, total_sugars_pct, reducing_sugars_pct,
           sucrose_pct, lactose_pct, starch_pct, fructan_pct, sugar_g_l, juice_l_per_100kg
    FROM typed.opening_stock
),
certificates AS (
    SELECT *, coalesce(extract_pct, total_sugars_pct, reducing_sugars_pct, sucrose_pct, lactose_pct, starch_pct, fructan_pct,
                       sugar_g_l, potential_alcohol_pct_vol, brix) IS NOT NULL AS says_something
    FROM came
)
SELECT * EXCLUDE (says_something) FROM certificates
QUALIFY row_number() OVER (PARTITION BY lot ORDER BY says_something DESC, came_at, source_id, line) = 1
    AND (says_something OR kind IN ('malt', 'adjunct', 'fruit', 'sugar') OR lot IN (
        SELECT lot FROM derived.movements WHERE direction = 'in' AND part IN ('grain', 'fruit', 'sugar')))
ORDER BY lot

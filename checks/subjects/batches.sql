-- One row a bottled lot: its label, its strength, its fills, and what its category and the law of labels ask. A batch
-- whose product or whose jurisdiction is not known meets no law here, and other rules say so.
WITH sizes AS (
    SELECT bottlings.batch, volumes.allowed_ml, volumes.from_ml, volumes.to_ml, volumes.is_confirmed
    FROM derived.bottlings
    JOIN batch_products AS products ON products.batch = bottlings.batch
    JOIN limit_volumes AS volumes
        ON volumes.jurisdiction = products.jurisdiction
        AND products.law_of >= volumes.valid_from AND products.law_of < volumes.valid_until
)
SELECT
    'batch ' || bottlings.batch AS record, bottlings.batch, bottlings.run, bottling.source_id, bottling.line,
    bottlings.product, products.product AS product_in_profile, products.category AS category_in_profile,
    products.citation AS category_citation,
    bottlings.label_strength_pct_vol,
    -- at cask strength each batch has its own, and the laboratory alone can say whether it is right
    CASE WHEN NOT products.is_cask_strength THEN products.label_strength_pct_vol END AS profile_strength_pct_vol,
    bottling.label_age_years, CASE WHEN products.product IS NOT NULL THEN coalesce(products.age_years, 0) END AS profile_age_years,
    products.least_strength_pct_vol, products.most_strength_pct_vol,
    bottlings.laboratory_strength_pct_vol, bottlings.u_laboratory_strength_pct_vol,
    -- 27 CFR 30.31 and 30.32: in the United States solids up to 400 mg in 100 mL are disregarded
    CASE WHEN products.jurisdiction = 'US' AND bottlings.extract_g_l <= 4 THEN 'true' ELSE bottlings.laboratory_strength_is END
        AS bottled_strength_is,
    bottlings.label_deviation_pct_vol, limit_label.tolerance_pct_vol,
    bottlings.nominal_ml, products.nominal_ml AS profile_nominal_ml,
    products.jurisdiction, bottlings.bottled_at,
    (SELECT any_value(limit_label.jurisdiction) FROM limit_label WHERE limit_label.jurisdiction = products.jurisdiction)
        AS jurisdiction_held,
    (SELECT any_value(allowed_ml) FROM sizes WHERE sizes.batch = bottlings.batch AND allowed_ml = bottlings.nominal_ml)
        AS allowed_ml,
    (SELECT CASE WHEN is_confirmed THEN 'yes' ELSE 'from memory' END FROM sizes WHERE sizes.batch = bottlings.batch AND bottlings.nominal_ml BETWEEN from_ml AND to_ml LIMIT 1)
        AS volume_is_bound,
    bottling.operator,
    bottlings.bottling_loss, bottlings.u_bottling_loss,
    bottlings.bottles_rejected / nullif(bottlings.bottles_filled + bottlings.bottles_rejected, 0) AS rejected
FROM derived.bottlings
JOIN typed.bottling ON bottling.lot = bottlings.batch
LEFT JOIN batch_products AS products ON products.batch = bottlings.batch
LEFT JOIN limit_label
    ON limit_label.macerated = products.macerated AND limit_label.jurisdiction = products.jurisdiction
ORDER BY bottlings.bottled_at, bottlings.batch

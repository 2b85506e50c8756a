-- One row a batch whose product the profile knows: the product, and its category as it was on the day of bottling.
SELECT
    bottlings.batch, products.product, products.category, products.jurisdiction, products.label_strength_pct_vol,
    products.nominal_ml, products.age_years, products.is_cask_strength, products.macerated, products.label_names_allergens,
    coalesce(bottlings.bottled_at, TIMESTAMP '9999-01-01') AS law_of,
    categories.citation, categories.least_strength_pct_vol, categories.most_strength_pct_vol,
    categories.distilled_below_pct_vol, categories.distilled_most_pct_vol, categories.distilled_least_pct_vol,
    categories.distilled_above_pct_vol, categories.sugar_least_pct_mass, categories.from_neutral_spirit
FROM derived.bottlings
JOIN products ON products.product = bottlings.product
LEFT JOIN limit_categories AS categories
    ON categories.category = products.category AND categories.jurisdiction = products.jurisdiction
    AND coalesce(bottlings.bottled_at, TIMESTAMP '9999-01-01') >= categories.valid_from
    AND coalesce(bottlings.bottled_at, TIMESTAMP '9999-01-01') < categories.valid_until

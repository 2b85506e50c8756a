-- One row a bottled lot: its sampled net contents, and what the law of its product asks of them.
SELECT
    'batch ' || bottlings.batch AS record, bottlings.batch, bottlings.run, bottling.source_id, bottling.line,
    bottlings.jurisdiction,
    CASE
        WHEN coalesce(bottlings.fills, 0) < bottlings.fills_asked
        THEN 'for ' || bottlings.bottles_filled || ' bottles the reference test asks a sample of '
            || bottlings.fills_asked || ', and ' || coalesce(bottlings.fills, 0) || ' were measured'
        WHEN bottlings.fills_below_tne > bottlings.accepted_below_tne
            AND bottlings.fills_below_tne < bottlings.rejected_below_tne
        THEN 'neither accepted nor refused, so the reference test asks a second sample of ' || bottlings.fills_asked
    END AS note,
    bottlings.fills, bottlings.fill_mean_ml, bottlings.nominal_ml, bottlings.fill_sd_ml / sqrt(bottlings.fills) AS u_fill_mean_ml,
    bottlings.fill_mean_ml + bottlings.fill_mean_deficit_ml AS least_fill_mean_ml,
    bottlings.fills_below_tne, bottlings.fills_below_2tne, bottlings.accepted_below_tne, bottlings.rejected_below_tne,
    greatest(bottlings.fill_most_ml - bottlings.nominal_ml, bottlings.nominal_ml - bottlings.fill_least_ml)
        / bottlings.nominal_ml AS fill_greatest_variation,
    (SELECT max_by(most, from_ml) FROM limit_variations
        WHERE limit_variations.jurisdiction = bottlings.jurisdiction AND from_ml <= bottlings.nominal_ml)
        AS allowed_variation,
    bottlings.fills_over - bottlings.fills_under AS fills_over_less_under,
    sqrt(bottlings.fills) AS sd_over_less_under
FROM derived.bottlings
JOIN typed.bottling ON bottling.lot = bottlings.batch
ORDER BY bottlings.bottled_at, bottlings.batch

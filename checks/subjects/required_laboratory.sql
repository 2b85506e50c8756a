-- One row a batch and analyte that its product must have on record before release.
SELECT
    'batch ' || bottlings.batch || ', ' || replace(required.analyte, '_', ' ') AS record,
    bottlings.batch, required.analyte, bottling.source_id, bottling.line,
    sum(laboratory.replicates) AS results
FROM derived.bottlings
JOIN typed.bottling ON bottling.lot = bottlings.batch
JOIN house_laboratory AS required ON required.product = bottlings.product
LEFT JOIN finished_lots ON finished_lots.batch = bottlings.batch
LEFT JOIN derived.laboratory ON laboratory.lot = finished_lots.lot AND laboratory.analyte = required.analyte
GROUP BY bottlings.batch, required.analyte, bottling.source_id, bottling.line
ORDER BY bottlings.batch, required.analyte

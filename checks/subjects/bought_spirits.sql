-- One row a batch and lot of spirit or wash behind it that was bought in, with what its category asks of spirit.
SELECT
    'batch ' || bill.batch || ', lot ' || bill.lot AS record, bill.batch, bill.lot, bottling.source_id, bottling.line,
    bill.kind, bill.alcohol_share, CASE WHEN products.from_neutral_spirit THEN 'yes' ELSE 'no' END AS from_neutral_spirit,
    concat_ws(', ', bill.material, printf('%.1f %% of the alcohol', 100 * bill.alcohol_share), printf('%.2f %% vol', bill.strength_pct_vol)) AS note
FROM derived.batch_bill AS bill
JOIN typed.bottling ON bottling.lot = bill.batch
LEFT JOIN batch_products AS products ON products.batch = bill.batch
WHERE bill.origin = 'bought'
ORDER BY bill.batch, bill.lot

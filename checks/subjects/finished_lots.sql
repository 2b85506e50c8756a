-- The liquid that a batch was bottled from, and the batch itself: where the finished spirit's results are sought.
SELECT DISTINCT lineage.batch, lineage.lot, bottlings.product
FROM derived.lineage
JOIN derived.bottlings USING (batch)
JOIN derived.gauges ON gauges.run = lineage.run AND gauges.lot = lineage.lot AND gauges.direction = 'in'
WHERE lineage.depth = 1 AND gauges.part NOT IN ('water', 'packaging', 'bottles')
UNION
SELECT batch, batch, product FROM derived.bottlings

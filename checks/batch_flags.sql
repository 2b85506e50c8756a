-- A flag stands before a batch when it names the batch, or a run or lot of its lineage: what was drawn on the way and
-- what those runs made.
INSERT INTO flagged.batch_flags
WITH lots AS (
    SELECT batch, lot FROM derived.lineage
    UNION SELECT batch, into_lot FROM derived.lineage
    UNION SELECT lineage.batch, gauges.lot FROM derived.lineage JOIN derived.gauges ON gauges.run = lineage.run
    UNION SELECT batch, batch FROM derived.bottlings
),
runs AS (
    SELECT batch, run FROM derived.lineage
    UNION SELECT batch, run FROM derived.bottlings
)
SELECT batch, flag FROM flagged.flags WHERE batch IS NOT NULL
UNION
SELECT runs.batch, flags.flag FROM flagged.flags JOIN runs ON runs.run = flags.run
UNION
SELECT lots.batch, flags.flag FROM flagged.flags JOIN lots ON lots.lot = flags.lot
ORDER BY ALL;

INSERT INTO flagged.standings
SELECT
    bottlings.batch, bottlings.product, bottlings.bottled_at,
    CASE
        WHEN count(*) FILTER (flags.severity = 'stops release') > 0 THEN 'stopped'
        WHEN count(*) FILTER (flags.severity = 'needs explanation') > 0 THEN 'to explain'
        ELSE 'clear'
    END,
    count(*) FILTER (flags.severity = 'stops release'),
    count(*) FILTER (flags.severity = 'needs explanation'),
    count(*) FILTER (flags.severity = 'for information')
FROM derived.bottlings
LEFT JOIN flagged.batch_flags ON batch_flags.batch = bottlings.batch
LEFT JOIN flagged.flags ON flags.flag = batch_flags.flag
GROUP BY bottlings.batch, bottlings.product, bottlings.bottled_at
ORDER BY bottlings.bottled_at, bottlings.batch;

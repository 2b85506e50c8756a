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

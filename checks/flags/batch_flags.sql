-- A flag stands before a batch when it names the batch, or a run or lot of its ancestry.
INSERT INTO flagged.batch_flags
SELECT batch, flag FROM flagged.flags WHERE batch IS NOT NULL
UNION
SELECT runs.batch, flags.flag FROM flagged.flags JOIN derived.ancestor_runs AS runs ON runs.run = flags.run
UNION
SELECT lots.batch, flags.flag FROM flagged.flags JOIN derived.ancestor_lots AS lots ON lots.lot = flags.lot
ORDER BY ALL;

-- made from: typed.log_blocks, derived.runs
-- makes: log_blocks
-- Which stretch of a log belongs to which run. A log comes in blocks with silence between; a block belongs to the run
-- on the same still whose start is nearest to its own, at most three hours away (more than any clock change).
CREATE OR REPLACE TEMP TABLE log_blocks AS
WITH starts AS (         -- blocks of different files that follow on each other are one
    SELECT equipment, first_at, last_at,
           first_at - max(last_at) OVER (PARTITION BY equipment ORDER BY first_at, last_at
                                         ROWS BETWEEN UNBOUNDED PRECEDING AND 1 PRECEDING) AS silence
    FROM typed.log_blocks
),
numbered AS (
    SELECT *, sum(CASE WHEN silence IS NULL OR silence > INTERVAL 90 MINUTE THEN 1 ELSE 0 END)
              OVER (PARTITION BY equipment ORDER BY first_at, last_at) AS block
    FROM starts
),
blocks AS (
    SELECT equipment, block, min(first_at) AS first_at, max(last_at) AS last_at FROM numbered GROUP BY equipment, block
)
SELECT b.*, r.run, r.started_at, r.ended_at, r.hearts_from, r.hearts_to
FROM blocks AS b
JOIN derived.runs AS r
  ON r.equipment = b.equipment AND r.stage IN ('strip', 'rectify', 'botanical')
 AND r.started_at BETWEEN b.first_at - INTERVAL 3 HOUR AND b.first_at + INTERVAL 3 HOUR
QUALIFY row_number() OVER (PARTITION BY b.equipment, b.block ORDER BY abs(epoch(r.started_at - b.first_at)), r.run) = 1;

-- made from: typed.readings, derived.house_stills, log_blocks
-- makes: derived.log_clocks, derived.log_summaries
-- The logs, summarised by run; log_blocks.sql says which log is whose.
-- A clock that is off moves both ends of a log the same way; a log that begins before its run and goes on after it, or
-- misses some of it, says nothing of its clock.
INSERT INTO derived.log_clocks BY NAME
WITH ends AS (
    SELECT run, equipment, started_at, min(first_at) AS log_started_at,
           epoch(min(first_at) - started_at) / 60 AS begin_min,
           coalesce(epoch(max(last_at) - any_value(ended_at)) / 60, begin_min) AS end_min
    FROM log_blocks GROUP BY run, equipment, started_at
)
SELECT run, equipment, started_at, log_started_at,
       CASE WHEN begin_min > 0 AND end_min > 0 THEN least(begin_min, end_min)
            WHEN begin_min < 0 AND end_min < 0 THEN greatest(begin_min, end_min)
            ELSE 0.0 END AS offset_min
FROM ends
ORDER BY started_at, run;

-- Stuck: the longest time with one and the same value while hearts ran, the cut times moved to the log's own clock.
INSERT INTO derived.log_summaries BY NAME
WITH readings AS (
    SELECT b.run, v.equipment, v.tag, v.read_at, v.value, b.started_at, b.ended_at,
           v.read_at - (c.offset_min * INTERVAL 1 MINUTE) BETWEEN b.hearts_from AND b.hearts_to AS in_hearts,
           epoch(v.read_at - lag(v.read_at) OVER series) / 60 AS gap_min,
           v.value IS DISTINCT FROM lag(v.value) OVER series AS changed
    FROM typed.readings AS v
    JOIN log_blocks AS b ON b.equipment = v.equipment AND v.read_at BETWEEN b.first_at AND b.last_at
    JOIN derived.log_clocks AS c ON c.run = b.run
    WINDOW series AS (PARTITION BY b.run, v.tag ORDER BY v.read_at)
),
stretches AS (
    SELECT run, tag, epoch(max(read_at) - min(read_at)) / 60 AS minutes
    FROM (
        SELECT *, sum(CASE WHEN changed THEN 1 ELSE 0 END) OVER (PARTITION BY run, tag ORDER BY read_at) AS stretch
        FROM readings WHERE in_hearts
    )
    GROUP BY run, tag, stretch
),
stuck AS (
    SELECT run, tag, max(minutes) AS longest_stuck_min FROM stretches GROUP BY run, tag
)
SELECT r.run, r.equipment, r.tag, count(*) AS points, min(r.read_at) AS first_at, max(r.read_at) AS last_at,
       min(r.value) AS least, max(r.value) AS greatest, avg(r.value) AS mean, max(r.gap_min) AS longest_gap_min,
       any_value(s.longest_stuck_min) AS longest_stuck_min,
       any_value(floor(epoch(r.ended_at - r.started_at) / h.log_interval_s) + 1) AS expected_points
FROM readings AS r
LEFT JOIN stuck AS s USING (run, tag)
LEFT JOIN derived.house_stills AS h ON h.code = r.equipment
GROUP BY r.run, r.equipment, r.tag
ORDER BY r.run, r.tag;

-- One row a still run and tag of its log, beside what is usual for that tag on that still.
SELECT
    'run ' || summaries.run || ', ' || summaries.tag AS record,
    summaries.run, summaries.equipment, runs.source_id, runs.line, summaries.tag,
    CASE WHEN log_tag_units.unit = 'degC' THEN 'temperature' ELSE 'other' END AS kind,
    summaries.longest_stuck_min,
    -- to the minute, so that one run more does not move the limit of all others
    round(median(summaries.longest_stuck_min) OVER (PARTITION BY summaries.equipment, summaries.tag)) AS usual_stuck_min,
    summaries.longest_gap_min, stills.log_interval_s / 60 AS interval_min,
    summaries.points / nullif(summaries.expected_points, 0) AS points_present
FROM derived.log_summaries AS summaries
JOIN derived.runs ON runs.run = summaries.run
LEFT JOIN log_tag_units ON log_tag_units.tag = summaries.tag
LEFT JOIN house_stills AS stills ON stills.code = summaries.equipment
ORDER BY runs.started_at, summaries.run, summaries.tag

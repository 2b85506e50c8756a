-- One row a lot: where it came from, what was drawn from it, and whether in that order.
WITH drawn AS (
    SELECT gauges.lot, min(coalesce(gauges.gauged_at, runs.started_at)) AS first_at, first(gauges.run ORDER BY runs.started_at, gauges.run) AS run,
        max(coalesce(gauges.gauged_at, runs.started_at)) AS last_at,
        first(gauges.source_id ORDER BY gauges.gauged_at, gauges.run, gauges.source_id, gauges.line) AS source_id,
        first(gauges.line ORDER BY gauges.gauged_at, gauges.run, gauges.source_id, gauges.line) AS line
    FROM derived.gauges
    JOIN typed.runs ON runs.run = gauges.run
    WHERE gauges.direction = 'in'
    GROUP BY gauges.lot
)
SELECT
    'lot ' || lots.lot AS record, lots.lot,
    coalesce(drawn.source_id, intake.source_id) AS source_id, coalesce(drawn.line, intake.line) AS line,
    lots.origin, lots.basis, lots.quantity_in, lots.quantity_out, lots.overdraw,
    -- what may be drawn at most: more is overdraw beyond twice the uncertainty
    lots.quantity_out - lots.overdraw AS most_drawn,
    sqrt(coalesce(lots.u_quantity_in, 0) ** 2 + coalesce(lots.u_quantity_out, 0) ** 2) AS u_balance,
    date_diff('second', drawn.first_at, lots.made_at) / 3600.0 AS hours_drawn_before_made,
    date_diff('second', intake.best_before, drawn.last_at) / 86400.0 AS days_past_best_before,
    concat_ws(', ', 'counted in ' || lots.basis, 'first drawn by run ' || drawn.run) AS note
FROM derived.lots
LEFT JOIN drawn ON drawn.lot = lots.lot
LEFT JOIN typed.intake ON intake.lot = lots.lot
ORDER BY lots.lot

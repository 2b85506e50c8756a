-- One row a lot: where it came from, what was drawn from it, and whether in that order.
WITH drawn AS (
    SELECT gauges.lot, min(coalesce(gauges.gauged_at, runs.started_at)) AS first_at, first(gauges.run ORDER BY runs.started_at, gauges.run) AS run,
        max(coalesce(gauges.gauged_at, runs.started_at)) AS last_at,
        first(gauges.source_id ORDER BY gauges.gauged_at, gauges.run, gauges.source_id, gauges.line) AS source_id,
        first(gauges.line ORDER BY gauges.gauged_at, gauges.run, gauges.source_id, gauges.line) AS line
    FROM derived.gauges
    JOIN derived.runs ON runs.run = gauges.run
    WHERE gauges.direction = 'in'
    GROUP BY gauges.lot
),
came AS (
    SELECT lot, first(source_id ORDER BY came_at, vessel, source_id, line) AS source_id,
        first(line ORDER BY came_at, vessel, source_id, line) AS line
    FROM derived.openings GROUP BY lot
)
SELECT
    'lot ' || lots.lot AS record, lots.lot,
    coalesce(drawn.source_id, came.source_id) AS source_id, coalesce(drawn.line, came.line) AS line,
    lots.origin,
    -- what a cask holds may have stood there when the book was begun, and be topped by a run since
    CASE WHEN lots.lot NOT IN (SELECT contents FROM derived.cask_events) THEN lots.origins END AS origins, lots.basis, lots.quantity_in, lots.overdraw,
    -- with a draw that was not gauged nobody knows what was drawn, but that the others alone may be too much
    CASE WHEN coalesce(lots.draws_not_gauged, 0) = 0 OR lots.overdraw > 0 THEN lots.quantity_out END AS quantity_out,
    -- what may be drawn at most: more is overdraw beyond twice the uncertainty
    lots.quantity_out - lots.overdraw AS most_drawn,
    -- pieces are judged where all draws were counted: glass and corks are seldom written down draw by draw
    CASE WHEN lots.basis <> 'pieces' OR coalesce(lots.draws_not_gauged, 0) = 0 THEN 'yes' END AS is_counted,
    CASE WHEN lots.origin = 'unknown' OR (lots.origin = 'produced' AND (lots.drawn_by_runs = 0 OR lots.basis <> 'LPA')) THEN NULL
         ELSE 'yes' END AS has_opening,
    lots.u_remaining AS u_balance,
    date_diff('second', drawn.first_at, lots.made_at) / 3600.0 AS hours_drawn_before_made,
    date_diff('second', intake.best_before, drawn.last_at) / 86400.0 AS days_past_best_before,
    concat_ws(', ', 'counted in ' || lots.basis, 'first drawn by run ' || drawn.run, lots.not_computed,
        CASE WHEN lots.draws_not_gauged > 0 THEN 'draws not gauged: ' || lots.draws_not_gauged END) AS note
FROM derived.lots
LEFT JOIN drawn ON drawn.lot = lots.lot
LEFT JOIN typed.intake ON intake.lot = lots.lot
LEFT JOIN came ON came.lot = lots.lot
ORDER BY lots.lot

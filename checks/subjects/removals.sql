-- One row a dispatch, return, sample or destruction: to whom, by which document, of a lot that was there and released.
WITH removed AS (
    SELECT *, CASE WHEN is_bottled THEN pieces ELSE alcohol_l END AS quantity, CASE WHEN is_bottled THEN 0 ELSE u_alcohol_l END AS u_quantity
    FROM derived.removals WHERE kind <> 'lost'
),
back AS (               -- of each return what had left of the lot before, and what has come back with it
    SELECT back.gauge, coalesce(sum(other.quantity) FILTER (other.kind = 'dispatched'), 0) AS dispatched_before,
        sum(other.quantity) FILTER (other.kind = 'returned') AS returned_so_far,
        coalesce(sqrt(sum(other.u_quantity ** 2 ORDER BY other.gauge)), 0) AS u_returned
    FROM removed AS back
    JOIN removed AS other ON other.lot = back.lot AND other.removed_at <= back.removed_at
    WHERE back.kind = 'returned'
    GROUP BY back.gauge
)
SELECT
    CASE removed.kind WHEN 'dispatched' THEN 'dispatch' WHEN 'returned' THEN 'return' WHEN 'sampled' THEN 'sample' ELSE 'destruction' END
        || ' of lot ' || removed.lot || ' on ' || strftime(removed.removed_at, '%Y-%m-%d') || coalesce(', document ' || removed.document, '')
        AS record,
    removed.lot, removed.source_id, removed.line,
    removed.kind, removed.document, removed.to_whom AS customer, removed.duty_status, removed.witness,
    CASE WHEN lots.origin <> 'unknown' THEN lots.origin END AS origin,
    date_diff('day', removed.removed_at, lots.made_at) AS days_before_made,
    CASE WHEN bottlings.batch IS NULL THEN NULL
         WHEN decided.verdict = 'released' AND decided.decided_at <= removed.removed_at THEN 'released'
         WHEN decided.verdict = 'released' THEN 'released later'
         ELSE coalesce(decided.verdict, 'not decided on') END AS released,
    back.returned_so_far, back.dispatched_before, back.u_returned,
    concat_ws(', ', CASE WHEN removed.is_bottled THEN printf('%.0f', removed.pieces) || ' bottles' ELSE printf('%.2f', removed.alcohol_l) || ' LPA' END,
        'to ' || removed.to_whom, removed.reason) AS note
FROM removed
LEFT JOIN derived.lots ON lots.lot = removed.lot
LEFT JOIN derived.bottlings ON bottlings.batch = removed.lot
LEFT JOIN decided ON decided.batch = removed.lot
LEFT JOIN back ON back.gauge = removed.gauge
ORDER BY removed.removed_at, removed.kind, removed.lot, removed.document, removed.gauge

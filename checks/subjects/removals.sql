-- One row a dispatch, return, sample or destruction: to whom, by which document, of a lot that was there and released.
-- flag_as: what the flag is named by, the moment in UTC, so that explanations stay whatever the house says of its zone.
WITH removed AS (
    SELECT *, CASE WHEN is_bottled THEN pieces ELSE alcohol_l END AS quantity, CASE WHEN is_bottled THEN 0 ELSE u_alcohol_l END AS u_quantity,
        timezone(getvariable('house_zone'), timezone('UTC', removed_at))::DATE AS on_day
    FROM derived.removals WHERE kind <> 'lost'
),
dispatched AS (         -- by document: on how many days and to how many recipients
    SELECT document, greatest(count(DISTINCT on_day), count(DISTINCT to_whom)) AS uses FROM removed
    WHERE kind = 'dispatched' AND document IS NOT NULL GROUP BY document
),
others AS (             -- the first other consignment under the same document
    SELECT d.gauge, first('of lot ' || o.lot || coalesce(' to ' || o.to_whom, '') || ' on ' || strftime(o.on_day, '%Y-%m-%d')
               ORDER BY o.on_day, o.to_whom, o.lot) AS other
    FROM removed AS d JOIN removed AS o ON o.document = d.document AND o.kind = 'dispatched'
        AND (o.on_day <> d.on_day OR o.to_whom <> d.to_whom)
    WHERE d.kind = 'dispatched'
    GROUP BY d.gauge
),
named AS (              -- of each return what is on record of the document that it names
    SELECT r.gauge, CASE WHEN bool_or(d.lot = r.lot AND d.on_day <= r.on_day) THEN 'on record'
                         WHEN bool_or(d.lot = r.lot) THEN 'of a later day'
                         WHEN count(d.gauge) > 0 THEN 'of another lot' ELSE 'not on record' END AS dispatch_is
    FROM removed AS r LEFT JOIN removed AS d ON d.kind = 'dispatched' AND d.document = r.dispatch_document
    WHERE r.kind = 'returned' AND r.dispatch_document IS NOT NULL
    GROUP BY r.gauge
),
by_document AS (        -- of each return what had left of the lot by the document that it names, and what came back of that
    SELECT back.gauge, sum(other.quantity ORDER BY other.gauge) FILTER (other.kind = 'dispatched') AS sent,
        sum(other.quantity ORDER BY other.gauge) FILTER (other.kind = 'returned') AS returned,
        coalesce(sqrt(sum(other.u_quantity ** 2 ORDER BY other.gauge)), 0) AS u_returned
    FROM removed AS back
    JOIN removed AS other ON other.lot = back.lot AND (
        (other.kind = 'dispatched' AND other.document = back.dispatch_document AND other.on_day <= back.on_day)
        OR (other.kind = 'returned' AND other.dispatch_document = back.dispatch_document AND other.removed_at <= back.removed_at))
    WHERE back.kind = 'returned'
    GROUP BY back.gauge
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
        || ' of lot ' || removed.lot || ' on ' || strftime(removed.on_day, '%Y-%m-%d') || coalesce(', document ' || removed.document, '')
        AS record,
    CASE removed.kind WHEN 'dispatched' THEN 'dispatch' WHEN 'returned' THEN 'return' WHEN 'sampled' THEN 'sample' ELSE 'destruction' END
        || ' of lot ' || removed.lot || ' on ' || strftime(removed.removed_at, '%Y-%m-%d') || coalesce(', document ' || removed.document, '')
        AS flag_as,
    removed.lot, removed.source_id, removed.line,
    removed.kind, removed.document, removed.to_whom AS customer, removed.duty_status, removed.witness,
    CASE WHEN lots.origin <> 'unknown' THEN lots.origin END AS origin,
    date_diff('day', removed.on_day, timezone(getvariable('house_zone'), timezone('UTC', lots.made_at))::DATE) AS days_before_made,
    CASE WHEN bottlings.batch IS NULL THEN NULL
         WHEN decided.verdict = 'released' AND decided.decided_at <= removed.removed_at THEN 'released'
         WHEN decided.verdict = 'released' THEN 'released later'
         ELSE coalesce(decided.verdict, 'not decided on') END AS released,
    back.returned_so_far, back.dispatched_before, back.u_returned,
    removed.reason, CASE WHEN samples.line IS NOT NULL THEN 'sample' END AS sample_record,     -- what a cask's own log samples has no recipient
    by_document.returned AS returned_of_document, by_document.sent AS sent_by_document, by_document.u_returned AS u_returned_of_document,
    CASE removed.kind WHEN 'dispatched' THEN dispatched.uses END AS document_uses, named.dispatch_is,
    concat_ws(', ', CASE WHEN removed.is_bottled THEN printf('%.0f', removed.pieces) || ' bottles' ELSE printf('%.2f', removed.alcohol_l) || ' LPA' END,
        'to ' || removed.to_whom, removed.reason, 'document also ' || others.other, 'left by ' || removed.dispatch_document) AS note
FROM removed
LEFT JOIN derived.lots ON lots.lot = removed.lot
LEFT JOIN derived.bottlings ON bottlings.batch = removed.lot
LEFT JOIN decided ON decided.batch = removed.lot
LEFT JOIN by_document ON by_document.gauge = removed.gauge
LEFT JOIN (SELECT DISTINCT source_id, line FROM typed.samples) AS samples
    ON removed.kind = 'sampled' AND samples.source_id = removed.source_id AND samples.line = removed.line
LEFT JOIN back ON back.gauge = removed.gauge
LEFT JOIN dispatched ON dispatched.document = removed.document
LEFT JOIN others ON others.gauge = removed.gauge
LEFT JOIN named ON named.gauge = removed.gauge
ORDER BY removed.removed_at, removed.kind, removed.lot, removed.document, removed.gauge

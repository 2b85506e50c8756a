-- What was dispatched, a row a document, duty status and kind (bottles or bulk): bottles, and LPA.
WITH sent AS (
    SELECT coalesce(document, 'no document') AS run, max(removed_at) AS ended_at, coalesce(duty_status, 'duty status not on record') AS duty_status,
           is_bottled, CASE WHEN bool_and(pieces IS NOT NULL) THEN sum(pieces) END AS pieces,
           CASE WHEN bool_and(alcohol_l IS NOT NULL) THEN sum(alcohol_l ORDER BY gauge) END AS alcohol_l
    FROM derived.removals WHERE kind = 'dispatched'
    -- without a document each stands alone
    GROUP BY document, CASE WHEN document IS NULL THEN gauge END, duty_status, is_bottled
)
SELECT 'dispatched_bottles' AS measure, run, ended_at, duty_status, pieces AS numerator, 1.0 AS denominator FROM sent WHERE is_bottled
UNION ALL
SELECT 'dispatched_alcohol', run, ended_at, concat(CASE WHEN is_bottled THEN 'bottles, ' ELSE 'bulk, ' END, duty_status), alcohol_l, 1.0 FROM sent
ORDER BY measure, ended_at, run, duty_status

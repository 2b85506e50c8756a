-- Finished goods of one month, a row a product and line of its account. Parameter: the first day of the month.
-- Closing is the sum of the lines before it; a sum with an uncounted part in it is not known.
WITH entries AS (
    SELECT coalesce(product, 'product not on record') AS product, pieces, alcohol_l, duty_status, month,
           CASE WHEN month < $1 THEN 'opening' WHEN entry = 'opening' THEN 'inventory' ELSE entry END AS line
    FROM derived.goods_entries WHERE month <= $1
),
lines AS (
    SELECT product, line, CASE line WHEN 'dispatched' THEN coalesce(duty_status, 'duty status not recorded') END AS duty_status, pieces, alcohol_l FROM entries
    UNION ALL
    SELECT product, 'closing', NULL, pieces, alcohol_l FROM entries
)
SELECT product, line, duty_status,
       CASE WHEN bool_and(pieces IS NOT NULL) THEN sum(pieces) END AS pieces,
       CASE WHEN bool_and(alcohol_l IS NOT NULL) THEN sum(alcohol_l) END AS alcohol_l
FROM lines GROUP BY product, line, duty_status
ORDER BY product, list_position(['opening', 'inventory', 'bottled', 'returned', 'dispatched', 'sampled', 'destroyed', 'used', 'closing'], line), duty_status

-- One row a lot of bottles: the fewest that the book ever held of it at the end of a day.
WITH days AS (
    SELECT batch, timezone(getvariable('house_zone'), timezone('UTC', booked_at))::DATE AS on_day, sum(pieces) AS pieces, min(source_id) AS source_id, min(line) AS line,
        string_agg(document, ', ' ORDER BY document) AS documents
    FROM derived.goods_entries GROUP BY batch, on_day
),
held AS (
    SELECT *, sum(pieces) OVER (PARTITION BY batch ORDER BY on_day) AS held FROM days
)
SELECT
    'bottles of lot ' || batch AS record, batch AS lot,
    first(source_id ORDER BY held, on_day) AS source_id, first(line ORDER BY held, on_day) AS line,
    min(held) AS least_pieces,
    'on ' || strftime(first(on_day ORDER BY held, on_day), '%Y-%m-%d') || coalesce(', document ' || first(documents ORDER BY held, on_day), '') AS note
FROM held
GROUP BY batch
ORDER BY batch

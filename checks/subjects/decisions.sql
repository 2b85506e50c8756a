-- One row a release or rejection in force: the state of the batch's data then and now, as short names of their hashes.
SELECT
    'decision ' || decision || ' on batch ' || batch || ' (' || verdict || ')' AS record, batch, verdict, data, decided_data,
    'by ' || person || ' on ' || strftime(timezone(getvariable('house_zone'), timezone('UTC', decided_at)), '%Y-%m-%d') || coalesce('; changed since: ' || changed, '') AS note
FROM decided
ORDER BY decision

-- One row a batch and thing that its label or category asks of casks (offered as label_claims).
SELECT
    'batch ' || c.batch || ', ' || c.claim || ': ' || c.asks AS record, c.batch, c.batch AS lot, b.source_id, b.line,
    concat_ws('; ', c.note, c.citation) AS note, c.claim, c.asks, c.shown, c.is_confirmed
FROM label_claims AS c JOIN typed.bottling AS b ON b.lot = c.batch
ORDER BY c.batch, c.claim, c.asks

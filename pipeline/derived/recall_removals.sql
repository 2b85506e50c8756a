-- What left the house, or came back to it, of the lots that a lot went into (offered as "reached"): to whom, by which document,
-- how much; and what was lost in casks. Consumed: what of the lot stands behind bulk that left; bottles have theirs already.
WITH gone AS (
    SELECT kind, lot, removed_at, to_whom, document, duty_status, pieces, alcohol_l, is_bottled, reason, person, witness, source_id, line
    FROM derived.removals
    UNION ALL
    SELECT 'lost in cask', contents, to_at, NULL, NULL, NULL, NULL, loss_l, false, 'found when it was ' || found_when, NULL, NULL, source_id, line
    FROM derived.cask_losses
)
SELECT g.kind, g.lot, g.removed_at, g.to_whom, g.document, g.duty_status, g.pieces, g.alcohol_l, g.is_bottled, g.reason, g.person, g.witness, r.share,
       CASE WHEN g.is_bottled THEN 0 ELSE CASE g.kind WHEN 'returned' THEN -1 ELSE 1 END * r.per_unit * g.alcohol_l END AS consumed
FROM reached AS r JOIN gone AS g USING (lot)
ORDER BY g.removed_at, g.kind, g.lot, g.to_whom, g.document, g.source_id, g.line

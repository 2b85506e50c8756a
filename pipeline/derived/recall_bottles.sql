-- Bottled lots among those that a lot went into (offered as "reached"), with what of it stands behind them.
SELECT b.batch, b.product, b.bottled_at, b.bottles_filled AS bottles, r.share,
       r.per_unit * b.alcohol_bottled_l AS consumed
FROM reached AS r JOIN derived.bottlings AS b ON b.batch = r.lot
ORDER BY b.bottled_at, b.batch

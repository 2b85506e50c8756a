-- Bottled batches of the board's span, and older ones that still wait or are held; the decision in force beside them.
SELECT
    bottlings.batch, bottlings.product, bottlings.bottled_at, bottlings.run, bottlings.bottles_filled,
    bottlings.nominal_ml, bottlings.label_strength_pct_vol, bottlings.laboratory_strength_pct_vol,
    bottlings.u_laboratory_strength_pct_vol, bottlings.alcohol_bottled_l, bottlings.u_alcohol_bottled_l,
    standings.standing, standings.stops_release, standings.needs_explanation, standings.for_information,
    coalesce(verdicts.verdict, 'waiting') AS state, verdicts.person, verdicts.role, verdicts.decided_at, verdicts.reason
FROM derived.bottlings
LEFT JOIN flagged.standings ON standings.batch = bottlings.batch
LEFT JOIN history.verdicts AS verdicts ON verdicts.batch = bottlings.batch
WHERE coalesce(bottlings.bottled_at >= $since, true) OR coalesce(verdicts.verdict, 'held') = 'held'
ORDER BY bottlings.bottled_at, bottlings.batch;

-- One row a gauge at rest: a dip of a tank, a cask gauged again or counted with its contents; its strength and what came of it.
-- flag_as: what the flag is named by, the moment in UTC, so that explanations stay whatever the house says of its zone.
SELECT
    'dip of ' || stock.vessel || ', lot ' || stock.lot || ', ' || strftime(timezone(getvariable('house_zone'), timezone('UTC', stock.gauged_at)), '%Y-%m-%d %H:%M') AS record,
    'dip of ' || stock.vessel || ', lot ' || stock.lot || ', ' || strftime(stock.gauged_at, '%Y-%m-%d %H:%M') AS flag_as,
    stock.lot, stock.vessel AS equipment, stock.source_id, stock.line, stock.not_computed AS note,
    dips.strength_reading, stock.strength_pct_vol, stock.u_strength_pct_vol, stock.alcohol_l, site.highest_strength_pct_vol
FROM derived.stock_gauges AS stock
CROSS JOIN site
LEFT JOIN derived.dips AS dips
    ON dips.source_id = stock.source_id AND dips.line = stock.line AND dips.vessel = stock.vessel AND dips.lot = stock.lot
    AND dips.gauged_at = stock.gauged_at
ORDER BY stock.gauged_at, stock.vessel, stock.lot, stock.source_id, stock.line

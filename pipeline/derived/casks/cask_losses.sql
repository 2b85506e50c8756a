-- made from: derived.cask_events, derived.gauge_errors, derived.lot_flows, derived.openings, derived.stock_gauges
-- What each filling lost in its cask from one measurement to the next: what it should have held (the last measurement and all
-- that went in and out since) less what it was found to hold, at a regauge and when it was emptied. Evaporation is in it, and
-- what the wood drank; a leak that was written down with its quantity is not. Errors that the gauges share cancel. A cask that
-- is gauged as it is emptied is gauged first: what was drawn then belongs to the emptying alone.
INSERT INTO derived.cask_losses BY NAME
WITH fillings AS (
    SELECT DISTINCT contents, cask FROM derived.cask_events
    UNION SELECT lot, vessel FROM derived.openings WHERE lot = vessel || '/1'
),
flows AS (
    SELECT f.contents, g.moved_at, g.gauge, g.alcohol_l, g.sign
    FROM fillings AS f JOIN derived.lot_flows AS g ON g.lot = f.contents
),
measured AS (
    SELECT f.contents, f.cask, s.gauged_at AS measured_at, 'regauged' AS found_when, s.alcohol_l AS found_l, s.gauge, s.source_id, s.line
    FROM fillings AS f JOIN derived.stock_gauges AS s ON s.lot = f.contents
    UNION ALL
    SELECT contents, cask, happened_at, 'emptied', 0, NULL, source_id, line FROM derived.cask_events WHERE event = 'emptied'
),
in_turn AS (
    SELECT *, max(measured_at) FILTER (found_when = 'emptied') OVER (PARTITION BY contents) AS emptied_at,
           lag(measured_at) OVER turn AS from_at, lag(found_l) OVER turn AS began_l, lag(gauge) OVER turn AS began_gauge,
           row_number() OVER turn AS number
    FROM measured
    WINDOW turn AS (PARTITION BY contents ORDER BY measured_at, found_when DESC, source_id, line)
),
between AS (            -- what each measurement stands on: flows up to it, and the measurement before
    SELECT m.contents, m.number, f.gauge, f.sign, f.alcohol_l, f.moved_at,
           -- what was drawn as it was emptied is what it still held
           f.moved_at = m.measured_at AND f.sign = -1 AND m.found_when = 'emptied' AS is_found
    FROM in_turn AS m JOIN flows AS f ON f.contents = m.contents
        AND CASE WHEN f.sign = -1 AND f.moved_at = m.emptied_at THEN m.found_when = 'emptied'
                 ELSE f.moved_at <= m.measured_at AND (m.from_at IS NULL OR f.moved_at > m.from_at) END
    UNION ALL SELECT contents, number, began_gauge, 1, began_l, from_at, false FROM in_turn WHERE from_at IS NOT NULL
    UNION ALL SELECT contents, number, gauge, -1, found_l, measured_at, true FROM in_turn
),
errors AS (
    SELECT contents, number, sqrt(sum(part ** 2 ORDER BY error)) AS u_loss_l FROM (
        SELECT b.contents, b.number, e.error, sum(b.sign * e.alcohol_l ORDER BY b.gauge) AS part
        FROM between AS b JOIN derived.gauge_errors AS e USING (gauge) GROUP BY b.contents, b.number, e.error
    ) GROUP BY contents, number
),
sums AS (
    SELECT contents, number, CASE WHEN bool_and(alcohol_l IS NOT NULL) THEN sum(sign * alcohol_l ORDER BY moved_at, gauge) END AS loss_l,
           CASE WHEN bool_and(alcohol_l IS NOT NULL) THEN sum(sign * alcohol_l ORDER BY moved_at, gauge) FILTER (NOT is_found) END AS held_l,
           min(moved_at) AS began_at
    FROM between GROUP BY contents, number
)
SELECT m.contents, m.cask, m.number, coalesce(m.from_at, s.began_at) AS from_at, m.measured_at AS to_at, m.found_when, m.found_l,
       s.held_l, s.loss_l, CASE WHEN s.loss_l IS NOT NULL THEN coalesce(e.u_loss_l, 0) END AS u_loss_l, m.source_id, m.line
FROM in_turn AS m JOIN sums AS s USING (contents, number) LEFT JOIN errors AS e USING (contents, number)
ORDER BY m.contents, m.number;

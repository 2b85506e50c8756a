-- made from: derived.cask_events, derived.cask_losses, derived.removals, derived.runs, derived.gauges, derived.lots, derived.openings, derived.run_verdicts, derived.used_up_lots, derived.usual_losses, house_zone
-- The ledger of alcohol. What comes into a place is positive. A run is a place too, its equipment: what it draws leaves a
-- vessel and comes to it, what it makes leaves it for a vessel, and its loss is booked when it ends. So moves inside the
-- house cancel in the sum over all places, where "produced" is what fermentation formed, "bottled" what is in bottles, and
-- "returned" what a run took out of bottles again. What a cask lost is booked when it was gauged again or emptied, and what it seems to have gained
-- apart from it: a gain is set against no loss. What left the
-- house in bulk, or came back, was sampled or destroyed is booked at its vessel, and bottles stand outside this account.
-- Entries are booked to 0.01 LPA, so that every column of every month adds up as it is printed.
INSERT INTO derived.account_entries BY NAME
WITH gauged AS (
    SELECT g.gauge, g.run, g.direction, g.lot, g.part, g.stage, coalesce(g.vessel, 'vessel not named') AS vessel,
           coalesce(g.equipment, 'run not on record') AS equipment,
           coalesce(g.gauged_at, CASE g.direction WHEN 'in' THEN r.started_at ELSE coalesce(r.ended_at, r.started_at) END) AS moved_at,
           g.alcohol_l::DECIMAL(18, 2) AS alcohol_l, g.u_alcohol_l,
           coalesce(l.drawn_by_runs, 0) > 0 AS is_drawn_later
    FROM derived.gauges AS g LEFT JOIN derived.runs AS r USING (run) LEFT JOIN derived.lots AS l ON l.lot = g.lot
    WHERE g.part NOT IN ('grain', 'fruit', 'sugar', 'yeast', 'water', 'wort', 'botanical', 'sweetening', 'packaging') AND g.alcohol_l IS NOT NULL
),
opened AS (             -- spirit received or in the opening inventory; bottles stand outside this account
    SELECT o.gauge, o.lot, o.origin, o.came_at AS moved_at, coalesce(o.vessel, f.vessel, 'vessel not named') AS vessel,
           o.alcohol_l::DECIMAL(18, 2) AS alcohol_l, o.u_alcohol_l
    FROM derived.openings AS o
    LEFT JOIN (SELECT lot, first(vessel ORDER BY moved_at, vessel) AS vessel FROM gauged WHERE direction = 'in' GROUP BY lot) AS f USING (lot)
    WHERE o.carries_alcohol AND o.kind <> 'bottled spirit' AND o.alcohol_l IS NOT NULL
),
put AS (                -- what came into vessels
    SELECT lot, vessel, moved_at, alcohol_l, u_alcohol_l FROM gauged WHERE direction = 'out'
    UNION ALL
    SELECT lot, vessel, moved_at, alcohol_l, u_alcohol_l FROM opened
),
made_in AS (            -- where a lot was first put
    SELECT lot, first(vessel ORDER BY moved_at, vessel) AS vessel FROM put GROUP BY lot
),
known_in AS (           -- vessels that a lot was put into
    SELECT DISTINCT lot, vessel FROM put
),
moves AS (
    SELECT gauge, moved_at AS booked_at, vessel AS place, true AS is_vessel, CASE direction WHEN 'in' THEN 'used' ELSE 'produced' END AS entry,
           CASE direction WHEN 'in' THEN -alcohol_l ELSE alcohol_l END AS alcohol_l, u_alcohol_l, lot, run, NULL AS note
    FROM gauged WHERE part <> 'bottles' AND (direction = 'in' OR part <> 'spent' OR is_drawn_later)
    UNION ALL
    SELECT gauge, moved_at, equipment, false,
           CASE WHEN direction = 'in' AND part = 'bottles' THEN 'returned' WHEN direction = 'in' THEN 'used'
                WHEN part = 'bottles' THEN 'bottled'
                WHEN part = 'spent' AND NOT is_drawn_later THEN 'explained' ELSE 'produced' END,
           CASE direction WHEN 'in' THEN alcohol_l ELSE -alcohol_l END, u_alcohol_l, lot, run,
           CASE WHEN part = 'spent' AND NOT is_drawn_later AND direction = 'out' THEN 'left in spent liquor' END
    FROM gauged WHERE coalesce(stage, '') NOT IN ('mash', 'ferment')
),
-- drawn from another vessel than it was put into: it was moved between
carried AS (
    SELECT g.gauge, g.moved_at, g.lot, g.run, g.alcohol_l, g.u_alcohol_l, g.vessel AS to_vessel, m.vessel AS from_vessel
    FROM gauged AS g JOIN made_in AS m USING (lot)
    ANTI JOIN known_in AS k ON k.lot = g.lot AND k.vessel = g.vessel
    WHERE g.direction = 'in' AND g.part <> 'bottles'
),
transfers AS (
    SELECT gauge, moved_at, to_vessel, true, 'transferred', alcohol_l, u_alcohol_l, lot, run, 'from ' || from_vessel FROM carried
    UNION ALL
    SELECT gauge, moved_at, from_vessel, true, 'transferred', -alcohol_l, u_alcohol_l, lot, run, 'to ' || to_vessel FROM carried
),
came AS (
    SELECT gauge, moved_at, vessel, true, CASE origin WHEN 'opening' THEN 'inventory' ELSE 'received' END, alcohol_l, u_alcohol_l, lot, NULL,
           CASE origin WHEN 'opening' THEN 'opening inventory' END
    FROM opened
),
removed AS (
    SELECT r.gauge, r.removed_at, coalesce(r.vessel, m.vessel, 'vessel not named') AS vessel, true, CASE r.kind WHEN 'returned' THEN 'came back' ELSE r.kind END,
           (CASE r.kind WHEN 'returned' THEN 1 ELSE -1 END * r.alcohol_l)::DECIMAL(18, 2), r.u_alcohol_l, r.lot, NULL,
           concat_ws(', ', r.reason, r.to_whom, r.document)
    FROM derived.removals AS r LEFT JOIN made_in AS m USING (lot)
    WHERE NOT r.is_bottled AND r.alcohol_l IS NOT NULL
),
in_casks AS (
    SELECT NULL, to_at, cask, true, CASE WHEN loss_l < 0 THEN 'cask gain' ELSE 'cask loss' END, -(loss_l::DECIMAL(18, 2)), u_loss_l, contents, NULL,
           concat(CASE WHEN loss_l < 0 THEN 'more in the cask than the book held, when it was ' ELSE 'lost in the cask until it was ' END,
                  CASE found_when WHEN 'emptied' THEN 'emptied' ELSE 'gauged again' END)
    FROM derived.cask_losses WHERE loss_l IS NOT NULL
),
runs AS (
    SELECT g.run, any_value(g.equipment) AS equipment, max(greatest(g.moved_at, r.ended_at)) AS booked_at,
           sum(CASE g.direction WHEN 'in' THEN g.alcohol_l ELSE -g.alcohol_l END) AS loss_l,
           any_value(v.loss_l IS NULL) AS is_not_computed, any_value(v.not_computed) AS not_computed,
           any_value(v.u_loss_l) AS u_loss_l, any_value(v.usual_loss_l) AS usual_loss_l,
           any_value(v.u_usual_loss_l) AS u_usual_loss_l
    FROM gauged AS g JOIN derived.runs AS r USING (run) LEFT JOIN derived.run_verdicts AS v USING (run)
    WHERE g.stage NOT IN ('mash', 'ferment')
    GROUP BY g.run
    HAVING bool_or(g.direction = 'out') OR any_value(r.ended_at) IS NOT NULL
),
leftovers AS (
    SELECT u.lot, m.vessel, u.emptied_at AS booked_at,
           sum(g.alcohol_l) AS loss_l,
           any_value(l.u_remaining) AS u_loss_l, any_value(x.fraction * l.quantity_in) AS usual_loss_l,
           any_value(x.scatter * l.quantity_in) AS u_usual_loss_l
    FROM (SELECT * FROM derived.used_up_lots WHERE lot NOT IN (SELECT contents FROM derived.cask_events)) AS u JOIN (
        SELECT lot, alcohol_l, u_alcohol_l FROM put
        UNION ALL SELECT lot, -alcohol_l, u_alcohol_l FROM gauged WHERE direction = 'in'
    ) AS g USING (lot) JOIN made_in AS m USING (lot) JOIN derived.lots AS l USING (lot)
    LEFT JOIN derived.usual_losses AS x ON x.of_what = 'lot' AND x.kind = l.material
    GROUP BY u.lot, m.vessel, u.emptied_at
),
losses AS (
    SELECT booked_at, equipment AS place, false AS is_vessel, loss_l, u_loss_l, usual_loss_l, u_usual_loss_l, NULL AS lot, run,
           CASE WHEN is_not_computed THEN 'not computed: ' || coalesce(not_computed, 'a part was not gauged') ELSE 'lost in the run' END AS note,
           is_not_computed
    FROM runs
    UNION ALL
    SELECT booked_at, vessel, true, loss_l, u_loss_l, usual_loss_l, u_usual_loss_l, lot, NULL, 'left when the lot was used up', false
    FROM leftovers
),
-- Explained: what gauging cannot tell from nothing, or from what is usual; of more than that the usual part is explained.
told AS (
    SELECT *, CASE WHEN is_not_computed THEN 0
                   WHEN abs(loss_l) <= 2 * u_loss_l THEN loss_l
                   WHEN usual_loss_l IS NULL THEN 0
                   WHEN abs(loss_l - usual_loss_l) <= 2 * sqrt(u_loss_l ** 2 + u_usual_loss_l ** 2) THEN loss_l
                   ELSE usual_loss_l END::DECIMAL(18, 2) AS explained_l
    FROM losses
),
loss_entries AS (
    SELECT NULL AS gauge, booked_at, place, is_vessel, 'explained' AS entry, -explained_l AS alcohol_l, u_loss_l, lot, run, note FROM told WHERE explained_l <> 0
    UNION ALL
    SELECT NULL, booked_at, place, is_vessel, 'unexplained', -(loss_l - explained_l), u_loss_l, lot, run, note FROM told WHERE loss_l <> explained_l
),
entries AS (
    SELECT * FROM moves
    UNION ALL SELECT * FROM transfers
    UNION ALL SELECT * FROM came
    UNION ALL SELECT * FROM removed
    UNION ALL SELECT * FROM in_casks
    UNION ALL SELECT * FROM loss_entries
)
SELECT booked_at, date_trunc('month', timezone(getvariable('house_zone'), timezone('UTC', booked_at)))::DATE AS month,
       gauge, place, is_vessel, entry, alcohol_l, u_alcohol_l, lot, run, note
FROM entries
ORDER BY booked_at, place, lot, run, entry, alcohol_l, note;

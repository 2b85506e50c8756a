-- made from: derived.gauges, derived.lot_uncertainties, derived.openings, derived.removals
-- Every lot that came in, was made or drawn from: the one quantity that it began with, and what was drawn.
-- What began it is the delivery or the opening inventory, and what runs made under its name; with any part of that not
-- known the whole is not. A litre of water at 20 °C weighs 0.9972 kg in air, where it was weighed and came by volume.
INSERT INTO derived.lots BY NAME
WITH moved AS (
    SELECT lot, direction, run, part, gauged_at, alcohol_l, mass_kg, pieces, not_computed,
           coalesce(volume_l, CASE WHEN part = 'water' THEN mass_kg / 0.9972 END) AS volume_l,
           part IN ('grain', 'fruit', 'sugar', 'yeast', 'water', 'wort', 'botanical', 'sweetening', 'packaging') AS carries_none
    FROM derived.gauges
),
came AS (
    SELECT lot, first(origin ORDER BY came_at, origin) AS origin, count(DISTINCT origin) AS origins, first(material ORDER BY came_at, origin, vessel) AS material,
           min(came_at) AS came_at, NOT bool_or(carries_alcohol) AS carries_none,
           CASE WHEN bool_and(alcohol_l IS NOT NULL) THEN sum(alcohol_l) END AS alcohol_l,
           -- water that is weighed has a volume too, but was not stated in it
           sum(mass_kg) FILTER (volume_l IS NULL) AS mass_kg, sum(volume_l) AS volume_l, sum(pieces) AS pieces,
           first(not_computed ORDER BY came_at, vessel) FILTER (not_computed IS NOT NULL) AS not_computed
    FROM derived.openings GROUP BY lot
),
made AS (
    SELECT lot, min(run) AS made_by_run, min(gauged_at) AS made_at, min(part) AS part,
           CASE WHEN bool_and(alcohol_l IS NOT NULL) THEN sum(alcohol_l) END AS alcohol_l,
           CASE WHEN bool_and(volume_l IS NOT NULL) THEN sum(volume_l) END AS volume_l,
           sum(mass_kg) AS mass_kg, bool_and(carries_none) AS carries_none,
           first(not_computed ORDER BY gauged_at, run) FILTER (not_computed IS NOT NULL) AS not_computed
    FROM moved WHERE direction = 'out' GROUP BY lot
),
named AS (
    SELECT lot FROM came UNION SELECT lot FROM moved
),
based AS (
    SELECT n.lot, c.lot IS NOT NULL AS has_come, m.lot IS NOT NULL AS is_made, c.origin, coalesce(c.origins, 0) AS origins,
           coalesce(c.material, m.part) AS material, m.made_by_run, least(m.made_at, c.came_at) AS made_at,
           c.alcohol_l AS came_alcohol, c.mass_kg AS came_mass, c.volume_l AS came_volume,
           c.pieces AS came_pieces, m.alcohol_l AS made_alcohol, m.volume_l AS made_volume, m.mass_kg AS made_mass, coalesce(c.not_computed, m.not_computed) AS not_computed,
           CASE
               WHEN NOT coalesce(m.carries_none, c.carries_none, d.carries_none) THEN 'LPA'
               WHEN c.mass_kg IS NOT NULL THEN 'kg'
               WHEN c.volume_l IS NOT NULL OR m.volume_l IS NOT NULL THEN 'L'
               WHEN c.pieces IS NOT NULL THEN 'pieces'
               WHEN m.lot IS NULL AND d.volume_l IS NOT NULL THEN 'L'
               ELSE 'kg'
           END AS basis
    FROM named AS n LEFT JOIN came AS c USING (lot) LEFT JOIN made AS m USING (lot)
    LEFT JOIN (
        SELECT lot, bool_and(carries_none) AS carries_none, sum(volume_l) AS volume_l FROM moved WHERE direction = 'in' GROUP BY lot
    ) AS d USING (lot)
),
removed AS (            -- by whatever is no run; what came back counts against it
    SELECT r.lot, CASE r.kind WHEN 'returned' THEN -1 ELSE 1 END
               * CASE b.basis WHEN 'LPA' THEN r.alcohol_l WHEN 'L' THEN r.volume_l WHEN 'pieces' THEN r.pieces END AS quantity
    FROM derived.removals AS r JOIN based AS b USING (lot)
),
draws AS (
    SELECT lot, NULL AS run, NULL AS part, quantity FROM removed
    UNION ALL
    SELECT m.lot, m.run, m.part,
           CASE b.basis WHEN 'LPA' THEN m.alcohol_l WHEN 'kg' THEN m.mass_kg WHEN 'L' THEN m.volume_l ELSE m.pieces END AS quantity
    FROM moved AS m JOIN based AS b USING (lot) WHERE m.direction = 'in'
),
drawn AS (
    SELECT lot, count(DISTINCT run) AS drawn_by_runs, min(part) AS part, sum(quantity) AS quantity,
           count(*) FILTER (quantity IS NULL) AS draws_not_gauged
    FROM draws GROUP BY lot
),
counted AS (
    SELECT b.lot, CASE WHEN is_made THEN 'produced' WHEN has_come THEN b.origin ELSE 'unknown' END AS origin,
        (origins + CASE WHEN is_made THEN 1 ELSE 0 END)::INTEGER AS origins, coalesce(b.material, d.part) AS material,
        b.made_by_run, b.made_at, b.basis, coalesce(d.drawn_by_runs, 0) AS drawn_by_runs,
        CASE b.basis
            WHEN 'LPA' THEN CASE WHEN has_come AND is_made THEN came_alcohol + made_alcohol
                                 WHEN is_made THEN made_alcohol ELSE came_alcohol END
            WHEN 'kg' THEN CASE WHEN coalesce(came_mass, made_mass) IS NOT NULL THEN coalesce(came_mass, 0) + coalesce(made_mass, 0) END
            WHEN 'L' THEN CASE WHEN coalesce(came_volume, made_volume) IS NOT NULL
                               THEN coalesce(came_volume, 0) + coalesce(made_volume, 0) END
            ELSE came_pieces
        END AS quantity_in,
        CASE b.basis WHEN 'LPA' THEN CASE WHEN quantity_in IS NOT NULL THEN coalesce(u.u_alcohol_in_l, 0) END
                     WHEN 'kg' THEN CASE WHEN quantity_in IS NOT NULL THEN coalesce(u.u_mass_in_kg, 0) END
                     WHEN 'L' THEN coalesce(u.u_volume_in_l, 0) ELSE 0 END AS u_quantity_in,
        coalesce(d.quantity, CASE WHEN coalesce(d.drawn_by_runs, 0) = 0 THEN 0 END) AS quantity_out,
        CASE b.basis WHEN 'LPA' THEN coalesce(u.u_alcohol_out_l, 0) WHEN 'kg' THEN coalesce(u.u_mass_out_kg, 0)
                     WHEN 'L' THEN coalesce(u.u_volume_out_l, 0) ELSE 0 END AS u_quantity_out,
        CASE b.basis WHEN 'LPA' THEN coalesce(u.u_alcohol_remaining_l, 0)
                     WHEN 'kg' THEN coalesce(u.u_mass_remaining_kg, 0)
                     WHEN 'L' THEN coalesce(u.u_volume_remaining_l, 0) ELSE 0 END AS u_of_rest,
        coalesce(d.draws_not_gauged, 0)::INTEGER AS draws_not_gauged,
        CASE WHEN quantity_in IS NULL THEN b.not_computed END AS not_computed
    FROM based AS b LEFT JOIN drawn AS d USING (lot) LEFT JOIN derived.lot_uncertainties AS u USING (lot)
)
SELECT * EXCLUDE (u_of_rest),
    CASE WHEN draws_not_gauged = 0 THEN quantity_in - quantity_out END AS remaining,
    CASE WHEN quantity_in IS NOT NULL AND draws_not_gauged = 0 THEN u_of_rest END AS u_remaining,
    -- twice the standard uncertainty of the difference (GUM, about 95 %): a smaller excess may be measurement alone
    CASE WHEN quantity_in IS NOT NULL THEN greatest(0, quantity_out - quantity_in - 2 * u_of_rest) END AS overdraw
FROM counted
ORDER BY lot;

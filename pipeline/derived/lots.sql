-- Every lot that was received, made or drawn from, with what it held and what was drawn.
INSERT INTO derived.lots BY NAME
WITH moved AS (
    SELECT lot, direction, run, part, gauged_at, alcohol_l, u_alcohol_l, volume_l, u_volume_l, mass_kg,
           part IN ('grain', 'fruit', 'yeast', 'water', 'wort', 'botanical', 'sweetening', 'packaging') AS carries_none
    FROM derived.gauges
),
made AS (
    SELECT lot, min(run) AS made_by_run, min(gauged_at) AS made_at, min(part) AS part,
           sum(alcohol_l) AS alcohol_l, sqrt(sum(u_alcohol_l ** 2)) AS u_alcohol_l, sum(volume_l) AS volume_l,
           sqrt(sum(u_volume_l ** 2)) AS u_volume_l, sum(mass_kg) AS mass_kg, bool_and(carries_none) AS carries_none
    FROM moved WHERE direction = 'out' GROUP BY lot
),
drawn AS (
    SELECT lot, count(DISTINCT run) AS drawn_by_runs, min(part) AS part, sum(alcohol_l) AS alcohol_l,
           sqrt(sum(u_alcohol_l ** 2)) AS u_alcohol_l, sum(volume_l) AS volume_l, sqrt(sum(u_volume_l ** 2)) AS u_volume_l,
           sum(mass_kg) AS mass_kg, bool_and(carries_none) AS carries_none
    FROM moved WHERE direction = 'in' GROUP BY lot
),
joined AS (
    SELECT
        coalesce(i.lot, m.lot, d.lot) AS lot,
        CASE WHEN m.lot IS NOT NULL THEN 'produced' WHEN i.lot IS NOT NULL THEN 'received' ELSE 'unknown' END AS origin,
        coalesce(i.material, m.part, d.part) AS material,
        m.made_by_run, coalesce(m.made_at, i.received_at) AS made_at,
        CASE
            WHEN NOT coalesce(m.carries_none, d.carries_none, true) THEN 'LPA'
            WHEN i.quantity_kg IS NOT NULL THEN 'kg'
            WHEN i.quantity_pieces IS NOT NULL THEN 'pieces'
            WHEN i.quantity_l IS NOT NULL OR m.volume_l IS NOT NULL OR d.volume_l IS NOT NULL THEN 'L'
            ELSE 'kg'
        END AS basis,
        i.quantity_kg, i.quantity_l, i.quantity_pieces,
        m.alcohol_l AS made_alcohol, m.u_alcohol_l AS u_made_alcohol, m.volume_l AS made_volume, m.u_volume_l AS u_made_volume,
        d.alcohol_l AS drawn_alcohol, d.u_alcohol_l AS u_drawn_alcohol, d.volume_l AS drawn_volume,
        d.u_volume_l AS u_drawn_volume, d.mass_kg AS drawn_mass,
        coalesce(d.drawn_by_runs, 0) AS drawn_by_runs
    FROM typed.intake AS i
    FULL JOIN made AS m USING (lot)
    FULL JOIN drawn AS d ON d.lot = coalesce(i.lot, m.lot)
),
counted AS (
    SELECT lot, origin, material, made_by_run, made_at, basis, drawn_by_runs,
        CASE basis WHEN 'LPA' THEN made_alcohol WHEN 'kg' THEN quantity_kg WHEN 'pieces' THEN quantity_pieces
                   ELSE coalesce(made_volume, quantity_l) END AS quantity_in,
        CASE basis WHEN 'LPA' THEN u_made_alcohol WHEN 'L' THEN coalesce(u_made_volume, 0) ELSE 0 END AS u_quantity_in,
        CASE basis WHEN 'LPA' THEN coalesce(drawn_alcohol, CASE WHEN drawn_by_runs = 0 THEN 0 END)
                   WHEN 'kg' THEN coalesce(drawn_mass, CASE WHEN drawn_by_runs = 0 THEN 0 END)
                   WHEN 'L' THEN coalesce(drawn_volume, CASE WHEN drawn_by_runs = 0 THEN 0 END) END AS quantity_out,
        CASE basis WHEN 'LPA' THEN coalesce(u_drawn_alcohol, 0) WHEN 'L' THEN coalesce(u_drawn_volume, 0) ELSE 0 END AS u_quantity_out
    FROM joined
)
SELECT *,
    quantity_in - quantity_out AS remaining,
    -- twice the standard uncertainty of the difference (GUM, about 95 %): a smaller excess may be measurement alone
    greatest(0, quantity_out - quantity_in - 2 * sqrt(u_quantity_in ** 2 + u_quantity_out ** 2)) AS overdraw
FROM counted
ORDER BY lot;

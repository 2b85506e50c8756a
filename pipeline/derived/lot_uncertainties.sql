-- made from: derived.gauge_errors, derived.lot_flows, derived.mass_errors
-- Standard uncertainties of what a lot held, of what was drawn of it and of what remains, by the errors that the gauges share:
-- a tank's calibration that made the lot seem too much made each draw from that tank seem too much as well.
INSERT INTO derived.lot_uncertainties BY NAME
WITH given AS (
    SELECT gauge, error, alcohol_l, volume_l, NULL::DOUBLE AS mass_kg FROM derived.gauge_errors
    UNION ALL SELECT gauge, error, NULL, NULL, mass_kg FROM derived.mass_errors
),
errors AS (
    SELECT g.lot, e.error,
           coalesce(sum(e.alcohol_l ORDER BY e.alcohol_l) FILTER (g.sign > 0), 0) AS alcohol_in, coalesce(sum(e.alcohol_l ORDER BY e.alcohol_l) FILTER (g.sign < 0), 0) AS alcohol_out,
           coalesce(sum(e.volume_l ORDER BY e.volume_l) FILTER (g.sign > 0), 0) AS volume_in, coalesce(sum(e.volume_l ORDER BY e.volume_l) FILTER (g.sign < 0), 0) AS volume_out,
           coalesce(sum(e.mass_kg ORDER BY e.mass_kg) FILTER (g.sign > 0), 0) AS mass_in, coalesce(sum(e.mass_kg ORDER BY e.mass_kg) FILTER (g.sign < 0), 0) AS mass_out
    FROM derived.lot_flows AS g JOIN given AS e USING (gauge)
    GROUP BY g.lot, e.error
)
SELECT lot, sqrt(sum(alcohol_in ** 2 ORDER BY error)) AS u_alcohol_in_l, sqrt(sum(alcohol_out ** 2 ORDER BY error)) AS u_alcohol_out_l,
       sqrt(sum((alcohol_in - alcohol_out) ** 2 ORDER BY error)) AS u_alcohol_remaining_l,
       sqrt(sum(volume_in ** 2 ORDER BY error)) AS u_volume_in_l, sqrt(sum(volume_out ** 2 ORDER BY error)) AS u_volume_out_l,
       sqrt(sum((volume_in - volume_out) ** 2 ORDER BY error)) AS u_volume_remaining_l,
       sqrt(sum(mass_in ** 2 ORDER BY error)) AS u_mass_in_kg, sqrt(sum(mass_out ** 2 ORDER BY error)) AS u_mass_out_kg,
       sqrt(sum((mass_in - mass_out) ** 2 ORDER BY error)) AS u_mass_remaining_kg
FROM errors
GROUP BY lot
ORDER BY lot;

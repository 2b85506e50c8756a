-- Every gauge and dip of the month with what reconciling made of it. Parameter: the first day of the month.
SELECT r.gauged_at, r.kind, r.run, r.direction, r.lot, r.part, r.measured_l, r.u_measured_l, r.reconciled_l, r.u_reconciled_l,
       r.z, n.z_critical, r.redundancy, r.detectable_l, r.verdict, r.alike, r.network, n.chi_square, n.critical, n.degrees,
       n.chi_square > n.critical AS is_beyond
FROM derived.reconciled AS r LEFT JOIN derived.networks AS n USING (network)
WHERE r.kind IN ('gauge', 'dip') AND r.measured_l IS NOT NULL
  AND date_trunc('month', timezone(getvariable('house_zone'), timezone('UTC', r.gauged_at)))::DATE = $1
ORDER BY r.gauged_at, r.run, r.direction, r.lot

-- The bill of a batch by material and by what its certificates say; a sum of which a part is not known is not known.
SELECT origin, material, basis, not_known, list(lot ORDER BY lot) AS lots,
       CASE WHEN count(mass_kg) = count(*) THEN sum(mass_kg ORDER BY lot) END AS mass_kg,
       CASE WHEN count(share) = count(*) THEN sum(share ORDER BY lot) END AS share,
       CASE WHEN count(predicted_alcohol_l) = count(*) THEN sum(predicted_alcohol_l ORDER BY lot) END AS predicted_alcohol_l,
       CASE WHEN count(predicted_share) = count(*) THEN sum(predicted_share ORDER BY lot) END AS predicted_share,
       CASE WHEN count(alcohol_share) = count(*) THEN sum(alcohol_share ORDER BY lot) END AS alcohol_share,
       CASE WHEN count(*) = 1 THEN min(strength_pct_vol) END AS strength_pct_vol
FROM derived.batch_bill WHERE batch = $batch
GROUP BY origin, material, basis, not_known
ORDER BY origin <> 'fermented', origin, mass_kg DESC NULLS LAST, alcohol_share DESC NULLS LAST, material, basis, not_known

-- The steps by which alcohol went from lot to lot, the last first: each lot's before those of all that it was made from.
-- What was drawn without a gauge of its alcohol has a share that is not known.
SELECT lot, into_lot, stage, share FROM derived.steps
WHERE into_rank IS NOT NULL AND (share IS NOT NULL OR basis = 'LPA')
ORDER BY into_rank DESC, into_lot, lot, run

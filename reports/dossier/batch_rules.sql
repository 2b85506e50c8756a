-- How many rules were applied to how many records, and how many of these could not be judged.
SELECT count(DISTINCT rule)::INTEGER, coalesce(sum(records), 0)::BIGINT, coalesce(sum(not_evaluated), 0)::BIGINT
FROM flagged.rule_counts;

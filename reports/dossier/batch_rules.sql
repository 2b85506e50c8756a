-- How many rules were applied to how many records, and how many of these could not be judged.
SELECT count(DISTINCT rule)::INTEGER AS rules, coalesce(sum(records), 0)::BIGINT AS records,
    coalesce(sum(not_evaluated), 0)::BIGINT AS not_evaluated
FROM flagged.rule_counts;

-- The rules in force, in the order of their names, with how many records of the book each looked at.
SELECT rules.rule, quantity, compared, unit, severity, citation, by_house, of_law, softened, softened_by,
    coalesce(records, 0)::BIGINT AS records
FROM flagged.rules AS rules LEFT JOIN flagged.rule_counts AS counts ON counts.rule = rules.rule
ORDER BY rules.rule;

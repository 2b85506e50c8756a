-- What the next check makes anew under another name: the memory of answers, and what the derived tables were made from.
DROP SCHEMA IF EXISTS judged CASCADE;
DROP TABLE IF EXISTS derived.made_from;

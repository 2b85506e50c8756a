"""The book as a whole: which edition its tables are of, and how those of an earlier one are brought up to date."""

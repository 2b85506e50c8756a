"""What the rules say of each record: subjects, expectations, and the answers remembered."""

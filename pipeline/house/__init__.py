"""The house profile: what the site is, and which edition of it a book was received under."""

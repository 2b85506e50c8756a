"""What is not within becomes a flag; what people and later checks do with it."""

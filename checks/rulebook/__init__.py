"""The rule book as data: rules, their bounds and published limits, read from TOML and checked."""

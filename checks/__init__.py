"""Quantities to flags. In: typed.*, derived.*, the house profile, the rules and published limits. Out: flagged.*.

`subjects` makes the frames, `rulebook` and `limits` say what they are held against, `expectations` judges,
`flags` puts the answers in words, `run` does all of it and keeps it; reports take over from there.
"""

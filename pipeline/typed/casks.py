"""The register of casks: each with its wood, its size and what it held before it came into the book."""

from gaugebook.pipeline.typed.record import MASS_KG, Field, Record

WOODS = ("american oak", "european oak", "oak", "acacia", "cherry", "chestnut", "other")
TREATMENTS = ("charred", "toasted", "charred and toasted", "none")
NEW = "new"  # former contents of a cask that never held anything

CASKS = Record(
    kind="casks",
    fields=(
        Field("cask", "text", required=True),
        Field("nominal_l", "number", unit="L", possible=(0.5, 100_000.0)),
        Field("wood", "choice", choices=WOODS),
        Field("treatment", "choice", choices=TREATMENTS),
        Field("char_level", "integer", possible=(0, 9)),
        Field("former_contents", "text"),
        Field("cooperage", "text"),
        Field("tare_kg", "number", unit="kg", possible=MASS_KG),
        Field("location", "text"),
        Field("position", "text"),
    ),
    key=("cask",),
)

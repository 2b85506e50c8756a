"""The faces of the documents, bundled with the program so that a page does not depend on the machine.

Source Serif 4 for reading, Source Sans 3 for tables and figures; both under the SIL Open Font License 1.1.
"""

from functools import cache
from pathlib import Path

import fontpkg_source_sans_3 as sans
import fontpkg_source_serif_4 as serif
from fontTools.ttLib import TTFont

# Name in pages.css (url(bundled:NAME)) and the file behind it.
FILES: dict[str, Path] = {
    "serif": serif.ROOT / "files" / "SourceSerif4[opsz,wght].ttf",
    "serif-italic": serif.ROOT / "files" / "SourceSerif4-Italic[opsz,wght].ttf",
    "sans": sans.ROOT / "files" / "SourceSans3[wght].ttf",
    "sans-italic": sans.ROOT / "files" / "SourceSans3-Italic[wght].ttf",
}

REGULAR = 400  # weight in which labels are set


@cache
def drawable() -> frozenset[int]:
    """Code points that every face can draw; any other would call for a font of the machine."""
    return frozenset.intersection(*(frozenset(_face(name).getBestCmap()) for name in FILES))


def width(text: str, size: float) -> float:
    """Width of a text in the sans face [pt], regular weight, without kerning; for fitting labels."""
    return sum(_advances().get(ord(character), 0.6) for character in text) * size


@cache
def _face(name: str) -> TTFont:
    return TTFont(FILES[name], lazy=True)


@cache
def _advances() -> dict[int, float]:
    """Advance of each character [em] in the regular weight: the file's own widths are those of its lightest."""
    face = _face("sans")
    glyphs, em = face.getGlyphSet(location={"wght": REGULAR}), face["head"].unitsPerEm
    return {code: glyphs[glyph].width / em for code, glyph in face.getBestCmap().items() if code < 0x2300}

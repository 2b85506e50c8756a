"""Text from files made fit to print: what it says is shown, what it could do to the page is not.

Characters that the bundled faces cannot draw (emoji, other scripts) and characters that act on their neighbours
(controls, right-to-left marks) appear by their code, so that a page never borrows a font from the machine and
never reads otherwise than the book. HTML is escaped by the templates, in drawings by `drawing.py`.
"""

import re
import unicodedata
from typing import Any

from babel.lists import format_list
from markupsafe import Markup, escape

from gaugebook.reports.page import fonts

_UNIT = r"(?:% vol|%|LPA|L|kg|°C|mL|g/hL pa)(?!\w)"
_DIGITS = r"[\d,.\u202f]"  # with the narrow space that parts thousands in some languages
_FIGURE = re.compile(rf"−?\d{_DIGITS}*(?: ± {_DIGITS}+(?: {_UNIT})?| {_UNIT})|± {_DIGITS}+(?: {_UNIT})?|\[% vol\]")
_LONG_WORD = re.compile(r"\S{41,}")
LONGEST = 120  # characters of one name or cell that are printed; the book holds the rest
LONGEST_SENTENCE = 1000
ENGLISH = "en_GB"  # of what has no catalogue yet: "a, b and c"


def printable(value: Any, longest: int = LONGEST) -> Any:
    """The text fit to print; anything but plain text passes as it is."""
    if not isinstance(value, str) or isinstance(value, Markup):
        return value
    if value.isascii() and value.isprintable() and len(value) <= 40:
        return value
    spelled = "".join(_character(character) for character in value[:longest])
    if len(value) > longest:
        return f"{spelled} … [{len(value):,} characters; the book holds the rest]"
    return spelled


def shown(value: Any, longest: int = LONGEST) -> Any:
    """The text as it stands between the tags of a page: fit to print, and a word that no column could hold may break.

    The places are characters that nobody sees, so this is the last thing done to a text, and never to an attribute: an
    address with them leads elsewhere (`reports/page/exact_attributes.py`).

    Examples
    --------
    >>> ascii(shown("R" * 30 + "-" * 15)), shown("a short word"), shown(3)
    ("'RRRRRRRRRRRRRRRRRRRR\\\\u200bRRRRRRRRRR----------\\\\u200b-----'", 'a short word', 3)
    """
    if not isinstance(value, str) or isinstance(value, Markup):
        return value
    return _LONG_WORD.sub(_with_breaks, printable(value, longest))


def _with_breaks(word: re.Match[str]) -> str:
    return "\u200b".join(word[0][start : start + 20] for start in range(0, len(word[0]), 20))


def _character(character: str) -> str:
    if character in "\n\r\t":
        return " "
    if ord(character) not in fonts.drawable() or unicodedata.category(character) in ("Cc", "Cf"):
        return f"[U+{ord(character):04X}]"
    return character


def unbroken(sentence: str, longest: int = LONGEST_SENTENCE) -> Markup:
    """A sentence of our own: it may be long, and its figures keep uncertainty and unit on one line."""
    held = _FIGURE.sub(lambda figure: f'<data class="nb">{figure[0]}</data>', str(escape(shown(sentence, longest))))
    return Markup(held)


def plural(number: int, singular: str, many: str | None = None) -> str:
    """A count in words: "no runs", "1 run", "12 runs"."""
    many = many or f"{singular}s"
    return f"{'no' if number == 0 else f'{number:,}'} {singular if number == 1 else many}"


def listed(items: list[str]) -> str:
    """A list in words: "a", "a and b", "a, b and c"."""
    return format_list(items, "standard", ENGLISH)


# Units as the book writes them and as the pages print them.
_UNITS = {
    "pct_vol": "% vol", "pct_vol_60f": "% vol (60 °F)", "pct_mass": "% mass", "us_proof": "US proof", "sg": "SG",
    "plato": "°P", "brix": "°Bx", "kg/m3": "kg/m³", "g/cm3": "g/cm³", "m3": "m³", "pct": "%", "degC": "°C",
    "degF": "°F", "ph": "pH", "ntu": "NTU", "ug/L": "µg/L",
}  # fmt: skip
_NAMES = {"ph": "pH"}


def unit(name: str | None) -> str:
    """A unit as it is printed."""
    return _UNITS.get(name or "", name or "")


def spaced(name: str | None) -> str:
    """A name of the book in words: "ethyl_acetate" is "ethyl acetate"."""
    return _NAMES.get(name or "", (name or "").replace("_", " "))

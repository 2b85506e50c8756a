"""The names by which a product finds its category: those of the texts, whatever their capitals, accents and hyphens."""

import re
import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

from gaugebook.checks.rulebook.toml_location import build_at, tables
from gaugebook.pipeline.errors import SettingsError


@dataclass(frozen=True)
class OtherNames:
    """Names of a category beside its own."""

    category: str
    jurisdiction: str
    names: tuple[str, ...]
    citation: str


def folded(name: str) -> str:
    """A name without what spelling may vary: capitals, accents, hyphens, blanks, and the e of whiskey.

    Both spellings of whisky stand in the texts: Regulation (EU) 2019/787, Annex I, category 2; 27 CFR 5.143(b).

    Examples
    --------
    >>> folded("Kümmel"), folded(" Straight  Bourbon Whiskey"), folded("aniseed-flavoured")
    ('kummel', 'straight bourbon whisky', 'aniseed flavoured')
    """
    bare = "".join(letter for letter in unicodedata.normalize("NFKD", name) if not unicodedata.combining(letter))
    words = re.sub(r"[\s_\-]+", " ", bare.casefold()).split()
    return " ".join({"whiskey": "whisky", "whiskeys": "whiskies"}.get(word, word) for word in words)


def names_by_jurisdiction(
    folder: Path, own: Iterable[tuple[str, str]], file: str = "names"
) -> dict[tuple[str, str], str]:
    """Jurisdiction and folded name -> the category's own name.

    Parameters
    ----------
    own : pairs of str
        Jurisdiction and name of every category.

    Raises
    ------
    SettingsError
        If a name stands for two categories, or for one that is not held; the sentence names file and line.
    """
    names: dict[tuple[str, str], str] = {}
    for jurisdiction, name in own:
        names.setdefault((jurisdiction, folded(name)), name)
    for table, place in tables(folder / f"{file}.toml", f"limits/{file}.toml", "names", "category"):
        other: OtherNames = build_at(OtherNames, table, place)
        if names.get((other.jurisdiction, folded(other.category))) != other.category:
            raise SettingsError(
                f'{place.at("category")}: no category "{other.category}" is held for {other.jurisdiction}.'
            )
        for name in other.names:
            taken = names.setdefault((other.jurisdiction, folded(name)), other.category)
            if taken != other.category:
                raise SettingsError(f'{place.at("names")}: "{name}" stands for "{taken}" too; give it one category.')
    return names


def own_name(names: Mapping[tuple[str, str], str], name: str, jurisdiction: str) -> str | None:
    """The category's own name, None where no category is held under this one."""
    return names.get((jurisdiction, folded(name)))

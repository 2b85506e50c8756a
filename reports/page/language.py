"""The languages of the dossier: every sentence of ours from one catalogue, numbers and dates as it writes them.

A catalogue is `languages/CODE.toml`: texts by key, with named places for what is put in ("{batch}"). A text that
depends on a number has the plural forms of its language ("one" and "other", in some "few" and "many"), chosen by
Babel for the value named n, and "none" where that differs. Text from files and the rule book's sentences are data and
stay as they are; `marked` says so in the tags.
"""

import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from functools import cache, cached_property
from pathlib import Path
from typing import Any

from babel import Locale
from babel.dates import format_datetime
from babel.lists import format_list
from babel.numbers import get_decimal_symbol
from markupsafe import Markup

from gaugebook.pipeline.house.settings import LANGUAGES
from gaugebook.reports.page import figures
from gaugebook.reports.page.wording import printable, shown, spaced

_FOLDER = Path(__file__).parent / "languages"
RULES_IN = "en"  # the language of the rule book, and so of what a flag says


@dataclass(frozen=True)
class Language:
    """One language: its catalogue and how it writes numbers and dates."""

    code: str
    texts: Mapping[str, str]

    @cached_property
    def locale(self) -> Locale:
        """Whose plural forms, lists and decimal sign it has."""
        return Locale.parse(self.texts["format.locale"])

    def say(self, key: str, **values: Any) -> str:
        """The text of this key with the values put in; numbers are whole ones, written with their thousands."""
        return self._form(key, values).format(**{name: self._plain(value) for name, value in values.items()})

    def markup(self, key: str, **values: Any) -> Markup:
        """The same for a page: the catalogue may hold tags, the values are escaped and made fit to print."""
        put_in = {name: shown(self._plain(value)) for name, value in values.items()}
        return Markup(self._form(key, values)).format(**put_in)

    def name(self, kind: str, code: str | None) -> str:
        """A name of the book in words: a stage, a part, a severity; one that no catalogue has stays as it is."""
        return self.texts.get(f"{kind}.{code}", spaced(code))

    def listed(self, items: Iterable[str]) -> str:
        """A list in words: "a", "a and b", "a, b and c"."""
        return format_list(list(items), "standard", self.locale)

    def marked(self, text: Any) -> Any:
        """Text of the rule book for a page: in a document of another language it is marked as English."""
        if self.code == RULES_IN or text is None:
            return printable(text)
        return Markup('<span lang="{}">{}</span>').format(RULES_IN, shown(text))

    def stated(self, value: float | None, u: float | None = None, of: str = "") -> str:
        """See `figures.stated`."""
        return self._written(figures.stated(value, u, of))

    def bare(self, value: float | None, u: float | None = None, of: str = "") -> str:
        """See `figures.bare`."""
        return self._written(figures.bare(value, u, of))

    def percent(self, fraction: float | None, u: float | None = None) -> str:
        """See `figures.percent`."""
        return self._written(figures.percent(fraction, u))

    def number(self, value: float | None, decimals: int = 0) -> str:
        """See `figures.number`."""
        return self._written(figures.number(value, decimals))

    def uncertainty(self, u: float | None, of: str = "") -> str:
        """See `figures.uncertainty`."""
        return self._written(figures.uncertainty(u, of))

    def plain(self, value: float | None) -> str:
        """A limit as it stands in its text: no digit more than it has."""
        return figures.MISSING if value is None else self._written(f"{value:,g}".replace("-", "−"))

    def short(self, value: float, of: str) -> str:
        """A spread, without its unit: to the decimals of a value in that unit."""
        return self.bare(value, None, of)

    def figure(self, text: str) -> str:
        """A number written in English, such as the label of a tick, as this language writes it."""
        return self._written(text)

    def moment(self, at: datetime | None, zone: str) -> str:
        """Date and time in the house's zone."""
        return self._dated(at, zone, "format.moment")

    def day(self, at: datetime | None, zone: str) -> str:
        """Date in the house's zone."""
        return self._dated(at, zone, "format.day")

    def hours(self, start: datetime | None, end: datetime | None) -> str:
        """Time between two moments in hours."""
        return self._written(figures.hours(start, end))

    def _form(self, key: str, values: Mapping[str, Any]) -> str:
        if f"{key}.other" not in self.texts:
            return self.texts[key]
        n = values["n"]
        if n == 0 and f"{key}.none" in self.texts:
            return self.texts[f"{key}.none"]
        return self.texts[f"{key}.{self.locale.plural_form(n)}"]

    def _dated(self, at: datetime | None, zone: str, pattern: str) -> str:
        if at is None:
            return figures.MISSING
        return format_datetime(figures.local(at, zone), self.texts[pattern], locale=self.locale)

    def _plain(self, value: Any) -> Any:
        if isinstance(value, int) and not isinstance(value, bool):
            return self.number(value)
        return figures.MISSING if value is None else value

    def _written(self, text: str) -> str:
        return text.translate(self._marks)

    @cached_property
    def _marks(self) -> dict[int, str]:
        return {ord(","): self.texts["format.thousands"], ord("."): get_decimal_symbol(self.locale)}


@cache
def language(code: str) -> Language:
    """The language of this code, one of `pipeline.house.settings.LANGUAGES`."""
    if code not in LANGUAGES:
        raise KeyError(code)
    text = (_FOLDER / f"{code}.toml").read_text(encoding="utf-8")
    return Language(code, dict(_flat(tomllib.loads(text), "")))


def _flat(table: Mapping[str, Any], before: str) -> Iterable[tuple[str, str]]:
    for key, value in table.items():
        if isinstance(value, dict):
            yield from _flat(value, f"{before}{key}.")
        else:
            yield f"{before}{key}", value

"""What the label of a batch claims of age and wood, and what its category asks, held against the casks behind it.

A claim is shown only by evidence. Where a cask's wood, a day of filling or a strength at entry is not on record, it is
neither shown nor broken: NULL, which no rule takes for passed.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

import polars as pl

from gaugebook.checks.rulebook.maturation import CASK_WOODS, Claim, Maturation, read_claims, requirements_of
from gaugebook.checks.rulebook.published_limits import Limits
from gaugebook.pipeline.book.database import Book
from gaugebook.pipeline.derived.casks.ages import History, histories, ways_into_wood
from gaugebook.pipeline.engineering.age import age_after
from gaugebook.pipeline.house.products import Product
from gaugebook.pipeline.house.settings import House

SCHEMA = {
    "batch": pl.String, "product": pl.String, "claim": pl.String, "asks": pl.String, "shown": pl.String,
    "note": pl.String, "citation": pl.String,
}  # fmt: skip
OAKS = ("american oak", "european oak", "oak")
CHARRED = ("charred", "charred and toasted")
IN_THE_UNION = "Regulation (EU) 2019/787, Article 13(6): age of the youngest ingredient"
OF_THE_STATES = "27 CFR 5.74: age statements, of the youngest spirits"
COMMON = "common practice"
HERE = Path(__file__).parent


@dataclass(frozen=True)
class Filling:
    """One filling of a cask behind a batch, as the register of casks has it."""

    contents: str
    wood: str | None  # one of CASK_WOODS; None where the register does not say enough
    nominal_l: float | None
    entry_pct_vol: float | None
    u_entry_pct_vol: float | None

    @property
    def cask(self) -> str:
        return self.contents.rsplit("/", 1)[0]


def claims(book: Book, house: House, limits: Limits) -> pl.DataFrame:
    """One row a batch and thing that its label or category asks of casks: shown yes, no, or NULL for not shown."""
    book.execute(f"SET VARIABLE house_zone = '{house.time_zone}'")
    products = {product.code: product for product in house.products}
    batches = book.frame("SELECT batch, product, bottled_at FROM derived.bottlings ORDER BY batch")
    casks: dict[str, list[Filling]] = {}
    for row in _query(book, "casks_behind").iter_rows(named=True):
        casks.setdefault(row["batch"], []).append(_filling(row))
    steps, came = ways_into_wood(book)
    behind, distilled = _by_batch(book, "came_behind"), _by_batch(book, "distilled_behind")
    record = _Record(steps, came, behind, distilled, set(_query(book, "watered")["batch"]))
    rows = [
        {"batch": batch, "product": product} | found
        for batch, product, bottled_at in batches.iter_rows()
        if product in products
        for found in _of_batch(batch, products[product], bottled_at.date(), casks.get(batch, []), record, limits)
    ]
    return pl.DataFrame(rows, schema=SCHEMA)


def wood_of(row: dict[str, Any]) -> str | None:
    """What law calls a filling's cask, by the register; None where it does not say enough.

    >>> wood_of({"wood": "oak", "treatment": "charred", "former_contents": "new", "filling": 1})
    'charred new oak'
    >>> wood_of({"wood": "oak", "treatment": "charred", "former_contents": "new", "filling": 2})
    'used oak'
    """
    if row["wood"] is None or row["wood"] == "other":
        return None
    if row["wood"] not in OAKS:
        return "other wood"
    if row["filling"] > 1:
        return "used oak"
    if row["former_contents"] is None:
        return None
    if row["former_contents"].strip().casefold() != "new":
        return "used oak"
    if row["treatment"] is None:
        return None
    return "charred new oak" if row["treatment"] in CHARRED else "uncharred new oak"


@dataclass(frozen=True)
class _Record:
    """What the book says of the ancestry of batches."""

    steps: list[dict[str, Any]]
    came: list[dict[str, Any]]
    behind: dict[str, list[dict[str, Any]]]
    distilled: dict[str, list[dict[str, Any]]]
    watered: set[str]

    def history(self, lot: str, counted: Iterable[str] | None = None) -> History | None:
        """The lot's time in wood, or only in these fillings."""
        if counted is None:
            return histories(self.steps, self.came).get(lot)
        chosen = set(counted)
        steps = [step | {"cask": step["cask"] if step["into_lot"] in chosen else None} for step in self.steps]
        came = [
            row if row["cask"] is None or row["lot"] in chosen
            else row | {"cask": None, "aged_from": row["came_on"]}
            for row in self.came
        ]  # fmt: skip
        return histories(steps, came).get(lot)


def _filling(row: dict[str, Any]) -> Filling:
    return Filling(row["contents"], wood_of(row), row["nominal_l"], row["entry_pct_vol"], row["u_entry_pct_vol"])


def _query(book: Book, name: str) -> pl.DataFrame:
    return book.frame((HERE / f"{name}.sql").read_text(encoding="utf-8"))


def _by_batch(book: Book, name: str) -> dict[str, list[dict[str, Any]]]:
    found: dict[str, list[dict[str, Any]]] = {}
    for row in _query(book, name).to_dicts():
        found.setdefault(row["batch"], []).append(row)
    return found


def _of_batch(
    batch: str, product: Product, bottled_on: date, fillings: list[Filling], record: _Record, limits: Limits
) -> Iterator[dict[str, Any]]:
    of_category = [item for item in requirements_of(limits, product.category, product.jurisdiction, bottled_on)
                   if item.is_required and item.wood != "none"]  # fmt: skip
    if of_category:
        yield from _of_alternatives(batch, product, bottled_on, of_category, fillings, record)
    if product.age_years is not None:
        law = OF_THE_STATES if product.jurisdiction == "US" else IN_THE_UNION
        yield _aged(batch, f"age of {product.age_years:g} years", 12 * product.age_years, bottled_on, None, record, law)
    if product.vintage is not None:
        yield _in_one(batch, f"vintage {product.vintage}", record, lambda day: day.year, COMMON, product.vintage)
    for claim in product.claims:
        if claim == "single cask":
            yield _single_cask(fillings)
        elif claim == "cask strength":
            yield _cask_strength(batch in record.watered, fillings)
        else:
            for item in read_claims():
                if (item.claim, item.jurisdiction) == (claim, product.jurisdiction):
                    yield from _of_claim(batch, product, bottled_on, item, fillings, record)


def _of_alternatives(
    batch: str, product: Product, on: date, items: list[Maturation], fillings: list[Filling], record: _Record
) -> Iterator[dict[str, Any]]:
    """What the category asks of wood and age; of several ways the one that is shown, else the first."""
    ways = [list(_of_maturation(batch, product, on, item, fillings, record)) for item in items]
    yield from next((way for way in ways if all(row["shown"] == "yes" for row in way)), ways[0])


def _of_maturation(
    batch: str, product: Product, on: date, item: Maturation, fillings: list[Filling], record: _Record
) -> Iterator[dict[str, Any]]:
    if not fillings:
        yield _row(item.category, f"stored in {item.wood}", None, "no cask stands behind it on record", item.citation)
        return
    fits = {filling.contents: _fits(filling, item) for filling in fillings}
    if item.jurisdiction == "US":  # all of it in that wood; in the Union only the time in it counts
        yield _all_of(item.category, f"stored in {item.wood}", fits, item.citation)
    if item.least_age_months is not None:
        sure = [contents for contents, fit in fits.items() if fit]
        maybe = [contents for contents, fit in fits.items() if fit is not False]
        yield _aged(batch, item.category, item.least_age_months, on, (sure, maybe), record, item.citation)
    if item.entry_most_pct_vol is not None:
        entries = {filling.contents: _entered(filling, item.entry_most_pct_vol) for filling in fillings}
        most = f"into the cask at most at {item.entry_most_proof:g} proof"
        yield _all_of(item.category, most, entries, item.citation)


def _of_claim(
    batch: str, product: Product, on: date, item: Claim, fillings: list[Filling], record: _Record
) -> Iterator[dict[str, Any]]:
    if item.least_age_months is not None:
        fits = {
            filling.contents: None if filling.wood is None else filling.wood in item.cask_woods for filling in fillings
        }
        counted = [name for name, fit in fits.items() if fit], [name for name, fit in fits.items() if fit is not False]
        yield _aged(batch, item.claim, item.least_age_months, on, counted, record, item.citation)
    if item.bottled_proof is not None:
        proof = 2 * product.label_strength_pct_vol
        is_so = abs(proof - item.bottled_proof) < 1e-6
        why = None if is_so else f"the label says {proof:g}"
        yield _row(item.claim, f"bottled at {item.bottled_proof:g} proof", "yes" if is_so else "no", why, item.citation)
    if item.one_season:
        yield _in_one(batch, f"{item.claim}: one season", record, _season, item.citation)
    if item.one_distiller:
        bought = [row["bought"] for row in record.behind.get(batch, [])]
        lots = [lot for found in bought for lot in found or ()]
        yield _row(item.claim, "spirit of one distiller", "no" if lots else "yes",
                   f"bought: {', '.join(lots[:3])}" if lots else None, item.citation)  # fmt: skip


def _season(day: date) -> str:
    return f"{day.year}, {'January to June' if day.month <= 6 else 'July to December'}"


def _fits(filling: Filling, item: Maturation) -> bool | None:
    """Whether a filling lies in the wood and size that is asked; None where that is not known."""
    if filling.wood is not None and filling.wood not in item.cask_woods:
        return False
    bounds = (item.cask_least_l, item.cask_below_l, item.cask_most_l)
    if filling.nominal_l is not None:
        least, below, most = bounds
        if (least is not None and filling.nominal_l < least) or (below is not None and filling.nominal_l >= below):
            return False
        if most is not None and filling.nominal_l > most:
            return False
    is_known = (filling.wood is not None or item.cask_woods == CASK_WOODS) and (
        filling.nominal_l is not None or bounds == (None, None, None)
    )
    return True if is_known else None


def _entered(filling: Filling, most_pct_vol: float) -> bool | None:
    """Whether a filling went in at most at this strength, twice its standard uncertainty allowed (GUM)."""
    if filling.entry_pct_vol is None:
        return None
    return filling.entry_pct_vol <= most_pct_vol + 2 * (filling.u_entry_pct_vol or 0.0)


def _all_of(claim: str, asks: str, fits: dict[str, bool | None], citation: str) -> dict[str, Any]:
    """Shown where all fillings fit, broken by those that do not, not shown where one is not known."""
    broken = [contents for contents, fit in fits.items() if fit is False]
    unknown = [contents for contents, fit in fits.items() if fit is None]
    if broken:
        return _row(claim, asks, "no", "broken by " + _some(broken), citation)
    if unknown:
        return _row(claim, asks, None, "not on record of " + _some(unknown), citation)
    return _row(claim, asks, "yes", None, citation)


def _aged(
    batch: str,
    claim: str,
    months: float,
    on: date,
    counted: tuple[list[str], list[str]] | None,
    record: _Record,
    citation: str,
) -> dict[str, Any]:
    """Age of the youngest part; `counted` are the fillings that surely and that perhaps count."""
    asks = f"at least {_months(months)}"
    sure, maybe = (record.history(batch, part) for part in counted or (None, None))
    if sure is None or maybe is None:
        return _row(claim, asks, None, "no cask stands behind it on record", citation)
    if maybe.days is None:
        return _row(claim, asks, None, maybe.not_known, citation)
    if not _reached(maybe.days, months, maybe.left or on):
        return _row(claim, asks, "no", f"{_in_words(maybe.days, maybe.left or on)} by {maybe.youngest}", citation)
    if sure.days is None or not _reached(sure.days, months, sure.left or on):
        return _row(claim, asks, None, f"the wood of a cask is not on record: {sure.youngest}", citation)
    return _row(claim, asks, "yes", _in_words(sure.days, sure.left or on), citation)


def _reached(days: int, months: float, on: date) -> bool:
    age = age_after(days, on)
    return 12 * age.years + age.months >= months


def _in_words(days: int, on: date) -> str:
    age = age_after(days, on)
    return f"{age.years} years {age.months} months {age.days} days"


def _months(months: float) -> str:
    return f"{months / 12:g} years" if months % 12 == 0 else f"{months:g} months"


def _in_one(
    batch: str, claim: str, record: _Record, period: Any, citation: str, wanted: object = None
) -> dict[str, Any]:
    """Whether all that was distilled for it falls into one period, and into the one wanted."""
    runs = record.distilled.get(batch, [])
    periods = {period(row["on_day"]): row["run"] for row in runs if row["on_day"] is not None}
    opened = [lot for row in record.behind.get(batch, []) for lot in row["opened"] or ()]
    asks = "distilled in one season" if wanted is None else f"distilled in {wanted}"
    since = {row["lot"]: row["aged_from"] for row in record.came}
    for lot in opened:  # distilled before the book began: by the day on which it was filled
        if since.get(lot) is not None:
            periods.setdefault(period(since[lot]), lot)
    found = [(name, f"{name} ({lot})") for name, lot in sorted(periods.items(), key=str)]
    wrong = [told for name, told in found if name != wanted] if wanted is not None else [told for _, told in found][1:]
    if wrong:
        return _row(claim, asks, "no", _some([told for _, told in found]), citation)
    unknown = [lot for lot in opened if since.get(lot) is None]
    if unknown or not periods:
        why = "when it was distilled is not on record" + (f": {_some(unknown)}" if unknown else "")
        return _row(claim, asks, None, why, citation)
    return _row(claim, asks, "yes", None, citation)


def _single_cask(fillings: list[Filling]) -> dict[str, Any]:
    names = sorted({filling.cask for filling in fillings})
    if not names:
        return _row("single cask", "one cask", None, "no cask stands behind it on record", COMMON)
    return _row("single cask", "one cask", "yes" if len(names) == 1 else "no", _some(names), COMMON)


def _cask_strength(is_watered: bool, fillings: list[Filling]) -> dict[str, Any]:
    if not fillings:
        return _row("cask strength", "no water after the cask", None, "no cask stands behind it on record", COMMON)
    return _row("cask strength", "no water after the cask", "no" if is_watered else "yes", None, COMMON)


def _some(names: list[str], most: int = 4) -> str:
    return ", ".join(names[:most]) + (f" and {len(names) - most} more" if len(names) > most else "")


def _row(claim: str, asks: str, shown: str | None, note: str | None, citation: str) -> dict[str, Any]:
    return {"claim": claim, "asks": asks, "shown": shown, "note": note, "citation": citation}

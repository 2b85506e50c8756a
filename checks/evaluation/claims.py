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

from gaugebook.checks.evaluation.cask_fillings import Filling, entered, filling_of, fits
from gaugebook.checks.evaluation.distilling_seasons import Period, in_one_period, season
from gaugebook.checks.evaluation.spirit_kinds import of_one_kind, of_one_type, type_of
from gaugebook.checks.evaluation.spirit_sources import Source, SpiritRecord
from gaugebook.checks.evaluation.straight_share import Ways, straight_share
from gaugebook.checks.evaluation.wood_history import history_of, reached
from gaugebook.checks.rulebook.maturation import Blend, Claim, Maturation, blend_of, read_claims, requirements_of
from gaugebook.checks.rulebook.published_limits import Limits
from gaugebook.pipeline.book.database import Book
from gaugebook.pipeline.derived.casks.ages import History, ways_into_wood
from gaugebook.pipeline.engineering.age import age_after
from gaugebook.pipeline.house.products import Product
from gaugebook.pipeline.house.settings import House

SCHEMA = {
    "batch": pl.String, "product": pl.String, "claim": pl.String, "asks": pl.String, "shown": pl.String,
    "note": pl.String, "citation": pl.String, "is_confirmed": pl.String,
}  # fmt: skip
IN_THE_UNION = "Regulation (EU) 2019/787, Article 13(6): age of the youngest ingredient"
OF_THE_STATES = "27 CFR 5.74: age statements, of the youngest spirits"
COMMON = "common practice"
LABEL_MAY_BE_OFF_PCT_VOL = 0.3  # 27 CFR 19.356(c)
MONTHS_TO = 6  # decimals: 7 months of a label are kept as a part of a year
NO_CASK = "no cask stands behind it on record"
HERE = Path(__file__).parent


def claims(book: Book, house: House, limits: Limits) -> pl.DataFrame:
    """One row a batch and thing that its label or category asks of casks: shown yes, no, or NULL for not shown."""
    book.execute(f"SET VARIABLE house_zone = '{house.time_zone}'")
    products = {product.code: product for product in house.products}
    asked = [
        (bottling, products[bottling.product])
        for bottling in _Bottling.all_of(book)
        if bottling.product in products and _asks(products[bottling.product], bottling, limits)
    ]
    if not asked:  # most houses fill no casks, and their genealogy need not be read
        return pl.DataFrame(schema=SCHEMA)
    record = _Record.of(book, house)
    rows = [
        {"batch": bottling.batch, "product": product.code} | row
        for bottling, product in asked
        for row in _of_batch(record.behind(bottling.batch), product, bottling, limits)
    ]
    return pl.DataFrame(rows, schema=SCHEMA)


@dataclass(frozen=True)
class _Bottling:
    """A batch as it was bottled: by its own label, and by the laboratory where the label's law states strength."""

    batch: str
    product: str
    bottled_on: date
    label_pct_vol: float
    label_age_years: float | None
    strength_pct_vol: float | None
    u_strength_pct_vol: float | None

    @classmethod
    def all_of(cls, book: Book) -> list["_Bottling"]:
        rows = book.frame(
            "SELECT b.batch, b.product, timezone(getvariable('house_zone'), timezone('UTC', b.bottled_at))::DATE "
            "AS bottled_on, b.label_strength_pct_vol AS label_pct_vol, t.label_age_years, "
            "b.stated_strength_pct_vol AS strength_pct_vol, b.u_laboratory_strength_pct_vol AS u_strength_pct_vol "
            "FROM derived.bottlings AS b JOIN typed.bottling AS t ON t.lot = b.batch ORDER BY b.batch"
        )
        return [cls(**row) for row in rows.to_dicts()]

    def age_years(self, product: Product) -> float | None:
        """The age that its own label states; where the record has none, that of the product's."""
        return product.age_years if self.label_age_years is None else self.label_age_years


@dataclass(frozen=True)
class _Behind:
    """What stands behind one batch on record; steps and what came are those of its ancestry alone."""

    batch: str
    fillings: tuple[Filling, ...]
    steps: list[dict[str, Any]]
    came: list[dict[str, Any]]
    bought: list[str]
    opened: list[str]
    distilled: list[tuple[str, date | None]]
    is_watered: bool
    sources: tuple[Source, ...] = ()
    ways: Ways | None = None

    def history(self, counted: Iterable[str] | None = None) -> History | None:
        """The batch's time in wood, or only in these fillings."""
        return history_of(self.batch, self.steps, self.came, counted)


@dataclass(frozen=True)
class _Record:
    """What the book says of all batches, by lot or by batch."""

    steps_into: dict[str, list[tuple[int, dict[str, Any]]]]  # with their place in the order of all
    came: list[dict[str, Any]]
    fillings: dict[str, list[dict[str, Any]]]
    origins: dict[str, list[dict[str, Any]]]
    distilled: dict[str, list[dict[str, Any]]]
    watered: set[str]
    spirit: SpiritRecord

    @classmethod
    def of(cls, book: Book, house: House) -> "_Record":
        steps, came = ways_into_wood(book)
        into: dict[str, list[tuple[int, dict[str, Any]]]] = {}
        for place, step in enumerate(steps):
            into.setdefault(step["into_lot"], []).append((place, step))
        return cls(
            into, came, _by_batch(book, "casks_behind"), _by_batch(book, "came_behind"),
            _by_batch(book, "distilled_behind"), set(_query(book, "watered")["batch"]), SpiritRecord.of(book, house),
        )  # fmt: skip

    def behind(self, batch: str) -> _Behind:
        """Of one batch, in the order of all."""
        lots, waiting, steps = {batch}, [batch], []
        while waiting:
            for place, step in self.steps_into.get(waiting.pop(), []):
                steps.append((place, step))
                if step["lot"] not in lots:
                    lots.add(step["lot"])
                    waiting.append(step["lot"])
        origins = self.origins.get(batch, [])
        fillings = tuple(filling_of(row) for row in self.fillings.get(batch, []))
        in_order = [step for _, step in sorted(steps, key=lambda item: item[0])]
        came = [row for row in self.came if row["lot"] in lots]
        return _Behind(
            batch,
            fillings=fillings,
            steps=in_order,
            came=came,
            bought=[lot for row in origins for lot in row["bought"] or ()],
            opened=[lot for row in origins for lot in row["opened"] or ()],
            distilled=[(row["run"], row["on_day"]) for row in self.distilled.get(batch, [])],
            is_watered=batch in self.watered,
            sources=tuple(self.spirit.sources(batch)),
            ways=Ways(self.spirit, fillings, in_order, came),
        )


def _query(book: Book, name: str) -> pl.DataFrame:
    return book.frame((HERE / f"{name}.sql").read_text(encoding="utf-8"))


def _by_batch(book: Book, name: str) -> dict[str, list[dict[str, Any]]]:
    by_batch: dict[str, list[dict[str, Any]]] = {}
    for row in _query(book, name).to_dicts():
        by_batch.setdefault(row["batch"], []).append(row)
    return by_batch


def _of_category(product: Product, on: date, limits: Limits) -> list[Maturation]:
    """What the category asks of casks on a day, whatever the label says besides."""
    asked = requirements_of(limits, product.category, product.jurisdiction, on)
    return [item for item in asked if item.is_required and item.wood != "none"]


def _asks(product: Product, bottling: _Bottling, limits: Limits) -> bool:
    stated = product.claims or bottling.age_years(product) is not None or product.vintage is not None
    return bool(stated or _of_category(product, bottling.bottled_on, limits) or _blend(product, bottling, limits))


def _blend(product: Product, bottling: _Bottling, limits: Limits) -> Blend | None:
    return blend_of(limits, product.category, product.jurisdiction, bottling.bottled_on)


def _of_batch(behind: _Behind, product: Product, bottling: _Bottling, limits: Limits) -> Iterator[dict[str, Any]]:
    bottled_on = bottling.bottled_on
    if of_category := _of_category(product, bottled_on, limits):
        yield from _of_alternatives(behind, bottled_on, of_category)
        if of_category[0].one_type:
            yield from _as_read([_one_type(behind, of_category[0], bottled_on, limits)], of_category[0])
    if (blend := _blend(product, bottling, limits)) and behind.ways:
        answer = straight_share(behind.batch, behind.ways, blend.least_share, limits, bottled_on)
        asks = f"at least {100 * blend.least_share:g} % straight whisky"
        row = _row(blend.category, asks, answer.shown, answer.why, blend.citation)
        yield from _as_read([row], blend)
    if (years := bottling.age_years(product)) is not None:
        law = OF_THE_STATES if product.jurisdiction == "US" else IN_THE_UNION
        yield _aged(behind, f"age of {years:g} years", round(12 * years, MONTHS_TO), bottled_on, None, law)
    if product.vintage is not None:
        yield _in_one(behind, f"vintage {product.vintage}", lambda day: day.year, COMMON, product.vintage)
    for claim in product.claims:
        if claim == "single cask":
            yield _single_cask(behind)
        elif claim == "cask strength":
            yield _cask_strength(behind)
        else:
            for item in read_claims():
                if (item.claim, item.jurisdiction) == (claim, product.jurisdiction):
                    yield from _as_read(_of_claim(behind, bottling, item), item)
                    if item.one_kind:
                        yield from _as_read([_one_kind(behind, product, bottled_on, item, limits)], item)


def _of_alternatives(behind: _Behind, on: date, items: list[Maturation]) -> Iterator[dict[str, Any]]:
    """What the category asks of wood and age; of several ways the one that is shown, else the first."""
    ways = [_as_read(_of_maturation(behind, on, item), item) for item in items]
    yield from next((way for way in ways if all(row["shown"] == "yes" for row in way)), ways[0])


def _as_read(rows: Iterable[dict[str, Any]], item: Maturation | Claim | Blend) -> list[dict[str, Any]]:
    """What a text asks, with whether that text was read or is from memory."""
    return [row | {"is_confirmed": "yes" if item.confirmed else "no"} for row in rows]


def _of_maturation(behind: _Behind, on: date, item: Maturation) -> Iterator[dict[str, Any]]:
    if not behind.fillings:
        yield _row(item.category, f"stored in {item.wood}", None, NO_CASK, item.citation)
        return
    fitting = {filling.contents: fits(filling, item) for filling in behind.fillings}
    if item.jurisdiction == "US":  # all of it in that wood; in the Union only the time in it counts
        yield _all_of(item.category, f"stored in {item.wood}", fitting, item.citation)
    if item.least_age_months is not None:
        yield _aged(behind, item.category, item.least_age_months, on, fitting, item.citation)
    if item.entry_most_pct_vol is not None:
        entries = {
            filling.contents: entered(filling, item.entry_most_pct_vol)
            for filling in behind.fillings
            if filling.took_new_spirit
        }
        most = f"into the cask at most at {item.entry_most_proof:g} proof"
        yield _all_of(item.category, most, entries, item.citation)


def _of_claim(behind: _Behind, bottling: _Bottling, item: Claim) -> Iterator[dict[str, Any]]:
    if item.least_age_months is not None:
        fits = {part.contents: None if part.wood is None else part.wood in item.cask_woods for part in behind.fillings}
        yield _aged(behind, item.claim, item.least_age_months, bottling.bottled_on, fits, item.citation)
    if item.bottled_proof is not None:
        yield _bottled_at(bottling, item.claim, item.bottled_proof, item.citation)
    if item.one_season:
        yield _in_one(behind, f"{item.claim}: one season", season, item.citation)
    if item.one_distiller:
        why = f"bought: {', '.join(behind.bought[:3])}" if behind.bought else None
        yield _row(item.claim, "spirit of one distiller", "no" if behind.bought else "yes", why, item.citation)


def _bottled_at(bottling: _Bottling, claim: str, proof: float, citation: str) -> dict[str, Any]:
    """Whether the batch was bottled at a proof: its own label says so, and the laboratory found it within what a label
    may be off, twice the uncertainty of the result besides."""
    asks, says = f"bottled at {proof:g} proof", 2 * bottling.label_pct_vol
    if abs(says - proof) > 1e-6:
        return _row(claim, asks, "no", f"the label says {says:g}", citation)
    if bottling.strength_pct_vol is None:
        return _row(claim, asks, None, "the strength at bottling is not on record", citation)
    off = abs(2 * bottling.strength_pct_vol - proof)
    if off > 2 * (LABEL_MAY_BE_OFF_PCT_VOL + 2 * (bottling.u_strength_pct_vol or 0.0)):
        return _row(claim, asks, "no", f"the laboratory found {2 * bottling.strength_pct_vol:.1f}", citation)
    return _row(claim, asks, "yes", f"the laboratory found {2 * bottling.strength_pct_vol:.1f}", citation)


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
    behind: _Behind, claim: str, months: float, on: date, fits: dict[str, bool | None] | None, citation: str
) -> dict[str, Any]:
    """Age of the youngest part: in all wood, or in the fillings that fit, surely and perhaps."""
    asks = f"at least {_months(months)}"
    if fits is None:
        sure = maybe = behind.history()
    else:
        sure = behind.history(contents for contents, fit in fits.items() if fit)
        maybe = behind.history(contents for contents, fit in fits.items() if fit is not False)
    if sure is None or maybe is None:
        return _row(claim, asks, None, NO_CASK, citation)
    if maybe.days is None:
        return _row(claim, asks, None, maybe.not_known, citation)
    if not reached(maybe.days, months, maybe.left or on):
        return _row(claim, asks, "no", f"{_in_words(maybe.days, maybe.left or on)} by {maybe.youngest}", citation)
    if sure.days is None or not reached(sure.days, months, sure.left or on):
        unknown = [contents for contents, fit in (fits or {}).items() if fit is None]
        return _row(claim, asks, None, f"wood or size is not on record of {_some(unknown)}", citation)
    return _row(claim, asks, "yes", _in_words(sure.days, sure.left or on), citation)


def _in_words(days: int, on: date) -> str:
    age = age_after(days, on)
    return f"{age.years} years {age.months} months {age.days} days"


def _months(months: float) -> str:
    return f"{months / 12:g} years" if months % 12 == 0 else f"{months:g} months"


def _in_one(behind: _Behind, claim: str, period: Period, citation: str, wanted: object = None) -> dict[str, Any]:
    """Whether all that was distilled for it falls into one period, and into the one wanted."""
    since = {row["lot"]: row["aged_from"] for row in behind.came}
    distilled = {run: on for run, on in behind.distilled if on is not None}
    shown = in_one_period(distilled, {lot: since.get(lot) for lot in behind.opened}, period, wanted)
    asks = "distilled in one season" if wanted is None else f"distilled in {wanted}"
    return _row(claim, asks, shown.answer, shown.why, citation)


def _one_type(behind: _Behind, item: Maturation, on: date, limits: Limits) -> dict[str, Any]:
    answer = of_one_type(behind.sources, item.one_type, limits, on)
    return _row(item.category, f"all of it {item.one_type}", answer.shown, answer.why, item.citation)


def _one_kind(behind: _Behind, product: Product, on: date, item: Claim, limits: Limits) -> dict[str, Any]:
    """All of the product's type where that has a mash bill, else of one kind, whichever."""
    wanted = type_of(product.category, limits, on)
    category = None if wanted is None else limits.category(wanted, product.jurisdiction, on)
    if wanted is not None and category is not None and category.grain_least:
        answer = of_one_type(behind.sources, wanted, limits, on)
    else:
        answer = of_one_kind(behind.sources, limits, on)
    return _row(item.claim, "spirit of one kind", answer.shown, answer.why, item.citation)


def _single_cask(behind: _Behind) -> dict[str, Any]:
    names = sorted({filling.cask for filling in behind.fillings})
    if not names:
        return _row("single cask", "one cask", None, NO_CASK, COMMON)
    return _row("single cask", "one cask", "yes" if len(names) == 1 else "no", _some(names), COMMON)


def _cask_strength(behind: _Behind) -> dict[str, Any]:
    if not behind.fillings:
        return _row("cask strength", "no water after the cask", None, NO_CASK, COMMON)
    return _row("cask strength", "no water after the cask", "no" if behind.is_watered else "yes", None, COMMON)


def _some(names: list[str], most: int = 4) -> str:
    return ", ".join(names[:most]) + (f" and {len(names) - most} more" if len(names) > most else "")


def _row(claim: str, asks: str, shown: str | None, note: str | None, citation: str) -> dict[str, Any]:
    return {"claim": claim, "asks": asks, "shown": shown, "note": note, "citation": citation, "is_confirmed": "yes"}

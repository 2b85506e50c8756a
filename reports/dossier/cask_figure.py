"""The casks behind a batch as a drawing: of each its time in wood, and its loss a year beside casks like it."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby

from markupsafe import Markup

from gaugebook.reports.dossier.casks import CaskBehind
from gaugebook.reports.dossier.records import Batch
from gaugebook.reports.dossier.stages import Chart
from gaugebook.reports.page import figures
from gaugebook.reports.page.drawing import FAINT, INK, SOFT, Drawing, Scale, fitted, tick_label
from gaugebook.reports.page.language import Language

_WIDTH, _LEFT, _RIGHT = 480.0, 44.0, 6.0  # of the sheet, and room beside the columns [pt]
_AGES, _RATES = (14.0, 54.0), (76.0, 148.0)  # top and foot of the two panels [pt]
_NAMES = 40.0  # room for the names at the foot [pt]
_WIDEST = 30.0  # of a column [pt]
_MOST_NAMED, _MOST_COLUMNS = 24, 120  # casks that are named; of more than the last, a column stands for several
_BAND = "#dedede"


@dataclass(frozen=True)
class _Column:
    """One cask, or several that follow each other in the record."""

    name: str
    years: float | None  # in wood, of the youngest
    rates: tuple[float, ...]  # a year [%]; of several casks the mean, the least and the most, of one its ± U
    band: tuple[float, float, float] | None  # lower edge, mean and upper edge of casks like it [%]
    outside: str  # the first of them that lies outside its band; "" where none does


def cask_chart(batch: Batch, language: Language) -> Chart | None:
    """The drawing with its caption; None where neither an age nor a loss of a cask is on record."""
    casks = batch.casks
    if all(cask.per_year is None and cask.years is None for cask in casks):
        return None
    each = -(-len(casks) // _MOST_COLUMNS)
    sentences = [
        language.say("casks.figure_many", n=each) if each > 1 else language.say("casks.figure_each"),
        language.say("casks.figure"),
    ]
    if any(cask.per_year is None for cask in casks):
        sentences.append(language.say("casks.figure_ungauged"))
    if any(cask.years is None for cask in casks):
        sentences.append(language.say("casks.figure_no_age"))
    columns = [_column(casks[first : first + each]) for first in range(0, len(casks), each)]
    return Chart(
        _figure(columns, _in_words(casks, language), _youngest(casks, language), language), " ".join(sentences)
    )


def _column(casks: Sequence[CaskBehind]) -> _Column:
    known = [100 * cask.per_year for cask in casks if cask.per_year is not None]
    reach = 100 * figures.COVERAGE * (casks[0].u_per_year or 0.0) if len(casks) == 1 else 0.0
    mean = sum(known) / len(known) if known else 0.0
    ages = [years for cask in casks if (years := _years(cask)) is not None]
    return _Column(
        name=casks[0].contents,
        years=min(ages) if ages else None,
        rates=(mean, min(known) - reach, max(known) + reach) if known else (),
        band=next((band for cask in casks if (band := _band(cask)) is not None), None),
        outside=next((cask.contents for cask in casks if cask.is_outlier), ""),
    )


def _years(cask: CaskBehind) -> float | None:
    """Time in wood as a number [a]."""
    if cask.years is None:
        return None
    return cask.years + (cask.months or 0) / 12 + (cask.days or 0) / 365.25


def _band(cask: CaskBehind) -> tuple[float, float, float] | None:
    """Between which nineteen of twenty casks like it lie, and their mean [% a year]."""
    if cask.usual_per_year is None:
        return None
    spread = figures.COVERAGE * (cask.u_among_usual or 0.0)
    return 100 * max(cask.usual_per_year - spread, 0.0), 100 * cask.usual_per_year, 100 * (cask.usual_per_year + spread)


def _youngest(casks: Sequence[CaskBehind], language: Language) -> str:
    """The age that a claim goes by, with its cask."""
    aged = [cask for cask in casks if cask.years is not None]
    if not aged:
        return ""
    cask = min(aged, key=lambda cask: (_years(cask), cask.contents))
    age = language.say("casks.years", years=cask.years, months=cask.months, days=cask.days)
    return language.say("casks.youngest", age=age, cask=cask.contents)


def _in_words(casks: Sequence[CaskBehind], language: Language) -> str:
    """What the drawing shows, for those who cannot see it."""
    rates = [cask.per_year for cask in casks if cask.per_year is not None]
    youngest = _youngest(casks, language)
    sentences = [language.say("casks.figure_title", n=len(casks)), f"{youngest}." if youngest else ""]
    if rates:
        least, most = language.percent(min(rates)), language.percent(max(rates))
        sentences.append(language.say("casks.figure_rates", least=least, most=most))
        outside = [cask.contents for cask in casks if cask.is_outlier]
        sentences.append(
            language.say("casks.figure_outside", casks=language.listed(outside))
            if outside
            else language.say("casks.figure_none_outside")
        )
    return " ".join(filter(None, sentences))


def _figure(columns: Sequence[_Column], title: str, youngest: str, language: Language) -> Markup:
    is_named = len(columns) <= _MOST_NAMED
    drawing = Drawing(_WIDTH, _RATES[1] + (_NAMES if is_named else 6.0), title)
    pitch = min((_WIDTH - _LEFT - _RIGHT) / len(columns), _WIDEST)
    places = [_LEFT + (n + 0.5) * pitch for n in range(len(columns))]
    end = _LEFT + len(columns) * pitch
    _ages(drawing, columns, places, pitch, end, youngest, language)
    _rates(drawing, columns, places, pitch, end, language)
    if is_named:
        for x, column in zip(places, columns, strict=True):
            name = fitted(column.name, 6.5, _NAMES - 6)
            drawing.text(x + 2.3, _RATES[1] + _NAMES / 2 + 3, name, anchor="middle", turned=True, size=6.5,
                         bold=bool(column.outside))  # fmt: skip
    return drawing.svg()


def _ages(
    drawing: Drawing, columns: Sequence[_Column], places: Sequence[float], pitch: float, end: float, youngest: str,
    language: Language,
) -> None:  # fmt: skip
    """A bar a column, of its years in wood."""
    top, foot = _AGES
    known = [column.years for column in columns if column.years is not None]
    drawing.text(_LEFT, top - 5, language.say("casks.axis_age"), bold=True)
    if youngest:
        drawing.text(_WIDTH - _RIGHT, top - 5, youngest, anchor="end")
    y = Scale(0.0, max(known, default=1.0), foot, top)
    _axis(drawing, y, end, 3, language)
    for x, column in zip(places, columns, strict=True):
        if column.years is None:
            drawing.mark("square", x, foot - 3, min(2.0, pitch / 3), hollow=True)
            continue
        is_youngest = column.years == min(known)
        wide = max(0.62 * pitch, 0.6)
        drawing.box(
            x - wide / 2, y(column.years), wide, foot - y(column.years), fill=SOFT if is_youngest else "#b4b4b4"
        )


def _rates(
    drawing: Drawing, columns: Sequence[_Column], places: Sequence[float], pitch: float, end: float, language: Language
) -> None:
    """What each lost a year, on the band of casks like it."""
    top, foot = _RATES
    drawing.text(_LEFT, top - 5, language.say("casks.axis_loss"), bold=True)
    reached = [0.0, *(rate for column in columns for rate in column.rates)]
    reached += [edge for column in columns for edge in column.band or ()]
    y = Scale(min(reached), (max(reached) or 1.0) * 1.05, foot, top)
    for band, own in groupby(zip(places, columns, strict=True), key=lambda item: item[1].band):
        across = [x for x, _ in own]
        if band is not None:
            left, right = across[0] - pitch / 2, across[-1] + pitch / 2
            drawing.box(left, y(band[2]), right - left, y(band[0]) - y(band[2]), fill=_BAND)
            drawing.line(left, y(band[1]), right, y(band[1]), ink=SOFT, weight=0.6)
    _axis(drawing, y, end, 4, language)
    size = min(1.9, max(pitch / 3, 0.7))
    for x, column in zip(places, columns, strict=True):
        if not column.rates:
            drawing.mark("square", x, y.start - 3, min(2.0, pitch / 3), hollow=True)
            continue
        mean, least, most = column.rates
        drawing.line(x, y(least), x, y(most), ink=INK, weight=0.6)
        drawing.mark("diamond" if column.outside else "dot", x, y(mean), 3.0 if column.outside else size)
        if column.outside and len(columns) > _MOST_NAMED:  # no names at the foot
            is_right = x > _WIDTH * 0.8
            drawing.text(x + (-5 if is_right else 5), y(mean) + 2.3, column.outside, bold=True, size=6.5,
                         anchor="end" if is_right else "start")  # fmt: skip


def _axis(drawing: Drawing, y: Scale, end: float, about: int, language: Language) -> None:
    ticks = y.ticks(about)
    for tick in ticks:
        drawing.line(_LEFT, y(tick), end, y(tick), ink=FAINT, weight=0.3)
        drawing.text(_LEFT - 4, y(tick) + 2.3, language.figure(tick_label(tick, ticks)), anchor="end", ink=SOFT)
    drawing.line(_LEFT, y(0.0), end, y(0.0), ink=SOFT)

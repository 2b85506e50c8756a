"""What each cask loses a year, beside casks like it; and what those that are full should hold by now.

Casks are alike by size, wood and location. Where fewer than eight were measured, those of the same size and wood are
taken, then those of the same size, then all.
"""

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import numpy as np
import polars as pl

from gaugebook.pipeline.book.database import Book
from gaugebook.pipeline.derived.derivation import Derivation
from gaugebook.pipeline.statistics.evaporation import (
    FEWEST_CASKS,
    Band,
    evaporation_band,
    evaporation_rate,
    expected_alcohol,
)

HERE = Path(__file__).parent
ALIKE = (("nominal_l", "wood", "location"), ("nominal_l", "wood"), ("nominal_l",), ())
YEAR_S = 365.2425 * 86400
Key = tuple[Any, ...]
OF_BAND = (
    "like_it", "casks", "usual_per_year", "u_usual_per_year", "scatter_per_year", "z", "critical", "is_outlier",
)  # fmt: skip

OF_RATE = ("per_year", "u_per_year", "scatter_per_year", "like_it")

LOCATED = """
    SELECT cask, p.location, c.nominal_l, c.wood
    FROM typed.casks AS c FULL JOIN (
        SELECT cask, last(location ORDER BY from_at NULLS FIRST) AS location FROM derived.cask_places GROUP BY cask
    ) AS p USING (cask)
"""
INTERVALS = """
    SELECT contents, cask, epoch(to_at) - epoch(from_at) AS seconds, held_l, held_l - loss_l AS left_l, u_loss_l
    FROM derived.cask_losses
    WHERE loss_l IS NOT NULL AND held_l > 0 AND held_l > loss_l AND to_at > from_at
    ORDER BY contents, number
"""
LAST_MOMENT = """
    SELECT max(at_time) FROM (
        SELECT max(happened_at) AS at_time FROM typed.cask_events UNION ALL SELECT max(ended_at) FROM typed.runs
        UNION ALL SELECT max(gauged_at) FROM typed.stock UNION ALL SELECT max(counted_at) FROM typed.inventory
    )
"""


def evaporation(book: Book) -> None:
    """Make derived.evaporation and derived.cask_stock."""
    located = book.frame(LOCATED)
    rows = {row["contents"]: row for row in _rates(book.frame(INTERVALS), located)}
    bands = _bands(list(rows.values()))
    frame = [_beside(row, bands) for row in rows.values()]
    if frame:
        book.append("derived.evaporation", pl.DataFrame(frame, infer_schema_length=None))
    with book.with_temp_view("located", located):
        levels = book.frame((HERE / "cask_levels.sql").read_text(encoding="utf-8"))
    as_of = book.value(LAST_MOMENT)
    if levels.height:
        kinds = {row["cask"]: row for row in located.to_dicts()}
        stock = [
            _foretold(level | {"as_of": as_of}, rows.get(level["contents"]), kinds.get(level["cask"], {}), bands)
            for level in levels.to_dicts()
        ]
        book.append("derived.cask_stock", pl.DataFrame(stock, infer_schema_length=None))


EVAPORATION = Derivation(
    lambda book, _: evaporation(book),
    made_from=(
        "typed.cask_events", "typed.casks", "typed.inventory", "typed.runs", "typed.stock", "derived.cask_events",
        "derived.cask_losses", "derived.cask_places", "derived.gauge_errors", "derived.lot_flows", "derived.openings",
        "derived.stock_gauges",
    ),
    makes=("derived.evaporation", "derived.cask_stock"),
)  # fmt: skip


def _rates(intervals: pl.DataFrame, located: pl.DataFrame) -> Iterator[dict[str, Any]]:
    """Of each filling its own rate: the parts left from gauge to gauge, one after the other."""
    kinds = {row["cask"]: row for row in located.to_dicts()}
    for (contents, cask), own in intervals.group_by("contents", "cask", maintain_order=True):
        years = np.concatenate([[0.0], np.cumsum(own["seconds"].to_numpy()) / YEAR_S])
        left = np.concatenate([[1.0], np.cumprod((own["left_l"] / own["held_l"]).to_numpy())])
        # of the uncertainty of a difference each of its two gauges has its part
        doubt = np.maximum((own["u_loss_l"] / own["left_l"]).to_numpy(), 1e-9) / np.sqrt(2)
        rate = evaporation_rate(years, left, left * np.concatenate([doubt[:1], doubt]))
        kind = kinds.get(str(cask), {})
        yield {
            "contents": contents, "cask": cask, "nominal_l": kind.get("nominal_l"), "wood": kind.get("wood"),
            "location": kind.get("location"), "years": float(years[-1]), "rate": rate,
        }  # fmt: skip


def _bands(rows: list[dict[str, Any]]) -> dict[Key, tuple[Band, list[str]]]:
    """Of each kind of casks that has enough of them its band, and the fillings in its order."""
    bands: dict[Key, tuple[Band, list[str]]] = {}
    for names in ALIKE:
        groups: dict[Key, list[dict[str, Any]]] = {}
        for row in rows:
            groups.setdefault(_key(row, names), []).append(row)
        for key, own in groups.items():
            if len(own) >= FEWEST_CASKS:
                rates = [row["rate"] for row in own]
                band = evaporation_band([rate.log_rate for rate in rates], [rate.u_log_rate for rate in rates])
                bands[key] = band, [row["contents"] for row in own]
    return bands


def _key(kind: Mapping[str, Any], names: tuple[str, ...]) -> Key:
    return names, *(kind.get(name) for name in names)


def _band_of(kind: Mapping[str, Any], bands: Mapping[Key, tuple[Band, list[str]]]) -> tuple[Key, Band] | None:
    """The band of the casks most like this one."""
    for names in ALIKE:
        key = _key(kind, names)
        if key in bands:
            return key, bands[key][0]
    return None


def _beside(row: dict[str, Any], bands: Mapping[Key, tuple[Band, list[str]]]) -> dict[str, Any]:
    """A filling's own rate beside the band of casks like it; without one, what is said of the band stays NULL."""
    own = {name: value for name, value in row.items() if name != "rate"}
    own |= {"per_year": row["rate"].per_year, "u_per_year": row["rate"].u_per_year}
    alike = _band_of(row, bands)
    if alike is None:
        return own | dict.fromkeys(OF_BAND)
    key, band = alike
    place = bands[key][1].index(row["contents"])
    usual = _of_band(key, band)
    return own | {
        "like_it": usual["like_it"],
        "casks": band.casks,
        "usual_per_year": usual["per_year"],
        "u_usual_per_year": usual["u_per_year"],
        "scatter_per_year": usual["scatter_per_year"],
        "z": float(band.z[place]),
        "critical": band.critical,
        "is_outlier": bool(band.is_outlier[place]),
    }


def _of_band(key: Key, band: Band) -> dict[str, Any]:
    """The rate of casks like it, and whose it is."""
    left = float(np.exp(-band.log_rate))
    return {
        "per_year": 1 - left,
        "u_per_year": left * band.u_log_rate,
        "scatter_per_year": left * band.scatter,
        "like_it": ", ".join(_told(name, value) for name, value in zip(key[0], key[1:], strict=True)) or "all casks",
    }


def _told(name: str, value: Any) -> str:
    if value is None:
        return {"nominal_l": "size", "wood": "wood", "location": "place"}[name] + " not on record"
    return f"{value:.0f} L" if name == "nominal_l" else str(value)


def _foretold(
    level: dict[str, Any],
    own: dict[str, Any] | None,
    kind: Mapping[str, Any],
    bands: Mapping[Key, tuple[Band, list[str]]],
) -> dict[str, Any]:
    """What the cask should hold at the last moment of the book: by its own rate, else by that of casks like it."""
    years = max((level["as_of"] - level["gauged_at"]).total_seconds() / YEAR_S, 0.0)
    expected, u_expected, by = level["gauged_l"], level["u_gauged_l"], "last gauge"
    rate: dict[str, Any] = dict.fromkeys(OF_RATE)
    alike = _band_of(kind, bands)
    if level["gauged_l"] is not None and level["gauged_l"] >= 0:
        held = (level["gauged_l"], level["u_gauged_l"], years)
        if own is not None:
            of_cask = own["rate"]
            expected, u_expected = expected_alcohol(*held, of_cask.log_rate, of_cask.u_log_rate, 0.0)
            by, rate = "its own rate", rate | {"per_year": of_cask.per_year, "u_per_year": of_cask.u_per_year}
            rate["scatter_per_year"] = 0.0
        elif alike is not None:
            key, band = alike
            expected, u_expected = expected_alcohol(*held, band.log_rate, band.u_log_rate, band.scatter)
            by, rate = "casks like it", _of_band(key, band)
    return level | {"expected_l": expected, "u_expected_l": u_expected, "expected_by": by} | rate

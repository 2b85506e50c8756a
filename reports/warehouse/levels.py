"""What casks held at given moments, and sums of it over any groups of them, with uncertainty.

A cask that was not gauged since is foretold by its own rate of evaporation, else by that of casks like it, as
`derived.cask_stock` has it for the last moment of the book. Errors that gauges share are added up before they are
squared, and so is the uncertainty of a rate that several casks are foretold by.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

import polars as pl

from gaugebook.pipeline.book.database import Book
from gaugebook.pipeline.derived.casks.evaporation import YEAR_S

_HERE = Path(__file__).parent


@dataclass(frozen=True)
class Held:
    """What casks hold together.

    Attributes
    ----------
    casks : int
        All of them
    not_known : int
        Casks of which a gauge is missing, or that are below nothing by the book: they are in no sum
    book_l, u_book_l : float
        By their last gauges, and what went in and out since [LPA]
    expected_l, u_expected_l : float
        What should be left by now [LPA]
    foretold : int
        Casks foretold by the rate of casks like them, since their own is not known
    """

    casks: int
    not_known: int
    book_l: float
    u_book_l: float
    expected_l: float
    u_expected_l: float
    foretold: int


@dataclass(frozen=True)
class Levels:
    """Casks at moments: a row each in `rows`, and their gauges with the errors that these carry in `errors`."""

    rows: pl.DataFrame
    errors: pl.DataFrame

    def held(self, by: Sequence[str]) -> dict[tuple[object, ...], Held]:
        """Sums over the casks that agree in these columns of `rows`, such as as_of; in the order of the columns."""
        if self.rows.is_empty():
            return {}
        known = pl.col("expected_l").is_not_null()
        sums = self.rows.group_by(by).agg(
            pl.len().alias("casks"),
            (~known).sum().alias("not_known"),
            pl.col("book_l").filter(known).sum(),
            pl.col("expected_l").sum(),
            (known & pl.col("like_it").is_not_null()).sum().alias("foretold"),
        )
        keys = self.rows.select(list(dict.fromkeys(["as_of", "contents", *by])))
        errors = self.errors.join(keys, on=["as_of", "contents"]).group_by([*by, "error"]).agg(
            pl.col("book_part").sum(), pl.col("expected_part").sum()
        )  # fmt: skip
        gauging = errors.group_by(by).agg(
            (pl.col("book_part") ** 2).sum().alias("book_2"), (pl.col("expected_part") ** 2).sum().alias("gauged_2")
        )
        # the rate of casks like it is in error for all of them together; what scatters does so from cask to cask
        rates = self.rows.filter(known).group_by([*by, "like_it", "per_year"]).agg(
            pl.col("rate_part").sum().alias("together"), (pl.col("rate_part") ** 2).sum().alias("apart"),
            (pl.col("scatter_part") ** 2).sum().alias("scatter_2"),
        )  # fmt: skip
        own = pl.when(pl.col("like_it").is_null()).then(pl.col("apart")).otherwise(pl.col("together") ** 2)
        foretelling = rates.group_by(by).agg((own + pl.col("scatter_2")).sum().alias("rate_2"))
        every = (
            sums.join(gauging, on=by, how="left", nulls_equal=True)
            .join(foretelling, on=by, how="left", nulls_equal=True)
            .with_columns(pl.col("book_2", "gauged_2", "rate_2").fill_null(0.0))
            .sort(by)
        )
        return {
            tuple(row[name] for name in by): Held(
                casks=row["casks"], not_known=row["not_known"], book_l=row["book_l"], u_book_l=row["book_2"] ** 0.5,
                expected_l=row["expected_l"], u_expected_l=(row["gauged_2"] + row["rate_2"]) ** 0.5,
                foretold=row["foretold"],
            )
            for row in every.iter_rows(named=True)
        }  # fmt: skip


def levels_at(book: Book, moments: Sequence[datetime]) -> Levels:
    """What every cask held at each of these moments [UTC]."""
    ends = pl.DataFrame({"as_of": sorted(set(moments))}, schema={"as_of": pl.Datetime("us")})
    with book.with_temp_view("moments", ends):
        rows = book.frame((_HERE / "cask_levels.sql").read_text(encoding="utf-8"))
    rows = _foretold(rows)
    gauges = (
        rows.filter(pl.col("expected_l").is_not_null())
        .select("as_of", "contents", "left", "gauges")
        .explode("gauges")
        .unnest("gauges")
    )
    carried = book.frame("SELECT gauge, error, alcohol_l FROM derived.gauge_errors WHERE alcohol_l <> 0")
    errors = gauges.join(carried, on="gauge").select(
        "as_of", "contents", "error",
        (pl.col("sign") * pl.col("alcohol_l")).alias("book_part"),
        (pl.col("sign") * pl.col("alcohol_l") * pl.col("left")).alias("expected_part"),
    )  # fmt: skip
    return Levels(rows.drop("gauges"), errors)


def _foretold(rows: pl.DataFrame) -> pl.DataFrame:
    """What is left of the book's litres, A exp(-k t), and what the uncertainty of k makes of it (GUM, 5.1.2)."""
    years = ((pl.col("as_of") - pl.col("gauged_at")).dt.total_microseconds() / 1e6 / YEAR_S).clip(lower_bound=0.0)
    stays = 1 - pl.col("per_year")
    per_log = pl.col("expected_l") * pl.col("years_since") / stays  # dA for dk, and dk for what is gone after a year
    return (
        rows.with_columns(years.alias("years_since"))
        .with_columns((stays.log() * pl.col("years_since")).exp().fill_null(1.0).alias("left"))
        .with_columns(
            pl.when(pl.col("book_l") >= 0).then(pl.col("book_l") * pl.col("left")).alias("expected_l"),
        )
        .with_columns(
            (per_log * pl.col("u_per_year")).fill_null(0.0).alias("rate_part"),
            (per_log * pl.col("scatter_per_year")).fill_null(0.0).alias("scatter_part"),
        )
    )

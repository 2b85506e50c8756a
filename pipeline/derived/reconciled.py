"""The network of runs and lots made to balance: reconciled litres of pure alcohol beside the measured ones."""

from pathlib import Path

import numpy as np
import polars as pl
from scipy import sparse

from gaugebook.pipeline.book.database import Book
from gaugebook.pipeline.derived.arrays import array, column
from gaugebook.pipeline.derived.derivation import Derivation
from gaugebook.pipeline.statistics.reconciliation import (
    ENVIRONMENT,
    Reconciliation,
    chi_square_critical,
    detectable_error,
    reconcile,
    sidak_critical,
)

HERE = Path(__file__).parent
MOST_SET_ASIDE = 100  # gauges found wrong in one book; more than that and the whole way of gauging is in question
LEAST_U_L = 0.001  # no gauge of alcohol is surer than a millilitre; keeps a measured nought in the network


def reconciled(book: Book) -> None:
    """Make derived.reconciled and derived.networks from the gauges, the dips and the usual losses."""
    streams = book.frame((HERE / "streams.sql").read_text(encoding="utf-8"))
    # losses first: where a loss cannot be told from a wrong gauge of what was thrown away, it is called a loss
    streams = streams.sort(pl.col("kind") != "loss", maintain_order=True)
    source, target = _nodes(streams)
    between = source != target  # a lot drawn into the run that made it is a ring, refused at receiving
    streams, source, target = streams.filter(between), source[between], target[between]
    if streams.is_empty():
        return
    own, shared = _errors(book, streams)
    u = np.sqrt(own**2 + np.asarray(shared.multiply(shared).sum(axis=1)).ravel())
    measured = np.where(np.isfinite(u), array(streams["measured_l"]), np.nan)
    misread = _misread(book, streams)
    reconciliation = reconcile(source, target, np.where(misread, np.nan, measured), own, MOST_SET_ASIDE, shared)
    critical = np.array([sidak_critical(n) for n in np.bincount(reconciliation.network[reconciliation.network >= 0])])
    book.append("derived.networks", _networks(reconciliation, critical))
    book.append("derived.reconciled", _beside(streams, measured, u, misread, reconciliation, critical))


RECONCILED = Derivation(
    lambda book, _: reconciled(book),
    made_from=(
        "derived.cask_events", "derived.runs", "derived.gauges", "derived.gauge_errors", "derived.lots",
        "derived.run_verdicts", "derived.stock_gauges", "derived.strength_checks", "derived.used_up_lots",
        "derived.usual_losses", "house_zone",
    ),
    makes=("derived.networks", "derived.reconciled"),
)  # fmt: skip


def _nodes(streams: pl.DataFrame) -> tuple[np.ndarray, np.ndarray]:
    """Numbers for the named nodes; what has no name is the environment."""
    names = pl.concat([streams["source"], streams["target"]]).drop_nulls().unique().sort()
    number = {name: place for place, name in enumerate(names.to_list())}
    source, target = (
        streams[end].replace_strict(number, default=ENVIRONMENT, return_dtype=pl.Int64).fill_null(ENVIRONMENT)
        for end in ("source", "target")
    )
    return source.to_numpy(), target.to_numpy()


def _errors(book: Book, streams: pl.DataFrame) -> tuple[np.ndarray, sparse.csr_matrix]:
    """Each stream's own standard uncertainty, and what each error that gauges share gives to each stream.

    A usual loss has its own; that of a gauge or dip is made of the errors of its gauges. An error that one stream alone
    carries is its own.
    """
    gauges = streams.select(pl.int_range(pl.len()).alias("stream"), "gauges").explode("gauges").drop_nulls()
    errors = (
        book.frame("SELECT gauge AS gauges, error, alcohol_l FROM derived.gauge_errors WHERE alcohol_l <> 0")
        .join(gauges, on="gauges")
        .sort("stream", "error", "gauges")
        .with_columns((pl.col("error").rank("dense") - 1).alias("number"))
    )
    places = (errors["stream"].to_numpy(), errors["number"].to_numpy())
    size = (streams.height, errors["number"].n_unique())
    given = sparse.coo_matrix((errors["alcohol_l"].to_numpy(), places), shape=size).tocsc()  # a dip's gauges added up
    alone = np.diff(given.indptr) == 1
    of_gauges = np.asarray(given[:, alone].multiply(given[:, alone]).sum(axis=1)).ravel()
    has_gauges = streams["gauges"].is_not_null().to_numpy()
    own = np.where(has_gauges, np.sqrt(of_gauges), array(streams["u_measured_l"]))
    return np.maximum(own, LEAST_U_L), given[:, ~alone].tocsr()


def _misread(book: Book, streams: pl.DataFrame) -> np.ndarray:
    """Gauges and dips whose strength the other readings of their lot contradict; they are left out of the balances."""
    wrong = book.frame("SELECT source_id, line, lot FROM derived.strength_checks WHERE verdict = 'suspect'")
    place = pl.struct("source_id", "line", "lot")
    return streams.select(place.is_in(wrong.select(place).to_series().implode())).to_series().to_numpy()


def _networks(reconciliation: Reconciliation, critical: np.ndarray) -> pl.DataFrame:
    count = len(reconciliation.chi_square)
    in_network = reconciliation.network[reconciliation.network >= 0]
    aside = np.bincount(reconciliation.network[reconciliation.set_aside], minlength=count)
    return pl.DataFrame(
        {
            "network": np.arange(count),
            "streams": np.bincount(in_network, minlength=count),
            "degrees": reconciliation.degrees,
            "chi_square": reconciliation.chi_square,
            "critical": [chi_square_critical(int(degrees)) for degrees in reconciliation.degrees],
            "chi_square_after": reconciliation.chi_square_after,
            "set_aside": aside,
            "z_critical": critical,
        }
    )


def _beside(
    streams: pl.DataFrame,
    measured: np.ndarray,
    u: np.ndarray,
    misread: np.ndarray,
    reconciliation: Reconciliation,
    critical: np.ndarray,
) -> pl.DataFrame:
    """One row a stream, with what the tests say of it."""
    of_network = np.append(critical, np.nan)[reconciliation.network]  # index -1 finds the last: in no network
    visible = (reconciliation.sensitivity * u) ** 2  # the redundancy, where no error is shared
    detectable = u * detectable_error(visible, of_network)
    is_known = np.isfinite(measured)
    alike = pl.Series(reconciliation.alike, dtype=pl.Int64)
    several = alike.is_duplicated() & (alike >= 0)
    verdict = np.select(
        [~is_known & np.isfinite(reconciliation.value), ~is_known, reconciliation.set_aside | misread, visible < 1e-9],
        ["worked out", "cannot be known", "suspect", "cannot be checked"],
        "agrees",
    )
    return streams.drop("source", "target", "gauges").with_columns(
        stream=pl.Series(np.arange(streams.height), dtype=pl.Int32),
        measured_l=column(measured),
        u_measured_l=column(np.where(is_known, u, np.nan)),
        reconciled_l=column(reconciliation.value),
        u_reconciled_l=column(reconciliation.u),
        z=column(np.where(reconciliation.set_aside, reconciliation.z_when_set_aside, reconciliation.z)),
        redundancy=column(np.where(is_known, reconciliation.redundancy, np.nan)),
        detectable_l=column(np.where(np.isfinite(detectable), detectable, np.nan)),
        verdict=pl.Series(verdict),
        alike=pl.select(pl.when(several).then(alike)).to_series(),
        network=pl.select(
            pl.when(pl.Series(reconciliation.network) >= 0).then(pl.Series(reconciliation.network))
        ).to_series(),
    )

"""The ancestry of each bottled lot: which lots it came through, with what share, and how much of each it took."""

import numpy as np
import polars as pl
from scipy import sparse

from gaugebook.pipeline.book.database import Book
from gaugebook.pipeline.derived.derivation import Derivation

# A lot through which less than a billionth of a batch's alcohol came is not listed with it: recycled feints tie every
# batch to all that came before it. `gaugebook trace` follows every lot however small its share.
LEAST_SHARE = 1e-9


def lineage(book: Book) -> None:
    """Make derived.lineage from derived.steps."""
    steps = book.frame("SELECT * FROM derived.steps WHERE into_rank IS NOT NULL ORDER BY into_rank, run, lot, into_lot")
    batches = book.frame("""
        SELECT b.lot AS batch, sum(g.alcohol_l) AS alcohol_l
        FROM (SELECT DISTINCT lot FROM typed.bottling) AS b
        LEFT JOIN derived.gauges AS g ON g.lot = b.lot AND g.part = 'bottles' AND g.direction = 'out'
        GROUP BY b.lot ORDER BY b.lot
    """)
    if steps.height and batches.height:
        book.append("derived.lineage", traced_back(steps, batches))


LINEAGE = Derivation(
    lambda book, _: lineage(book),
    made_from=("typed.bottling", "derived.gauges", "derived.steps"),
    makes=("derived.lineage",),
)


def traced_back(steps: pl.DataFrame, batches: pl.DataFrame) -> pl.DataFrame:
    """The steps behind each batch, with the share and the quantity that stand behind it.

    The shares of the inputs of one lot sum to the share of that lot. What a batch consumed of a lot is what was drawn
    for each litre of what it became, times the litres that the batch took of that. Both are followed back one step at a
    time for all batches at once, as products of sparse matrices, until nothing is left to follow.

    Parameters
    ----------
    steps : DataFrame
        As derived.steps, without rings.
    batches : DataFrame
        batch, alcohol_l.

    Returns
    -------
    DataFrame
        As derived.lineage.
    """
    lots = pl.concat([steps["lot"], steps["into_lot"], batches["batch"]]).unique().sort()
    number = dict(zip(lots.to_list(), range(len(lots)), strict=True))
    lot, into = (steps[name].replace_strict(number, return_dtype=pl.Int64).to_numpy() for name in ("lot", "into_lot"))
    start = batches["batch"].replace_strict(number, return_dtype=pl.Int64).to_numpy()
    share = steps["share"].fill_null(0.0).to_numpy()
    # what carries no alcohol is followed as far as the lot that it went into
    followed = np.where(steps["share"].is_null().to_numpy(), 1.0, share)
    size, columns = (len(lots), len(lots)), np.arange(batches.height)
    back = [
        sparse.csr_matrix((values, (lot, into)), shape=size)
        for values in (followed, share, steps["per_unit"].fill_null(0.0).to_numpy())
    ]
    first = [np.ones(batches.height), np.ones(batches.height), batches["alcohol_l"].fill_null(0.0).to_numpy()]
    now = [sparse.csr_matrix((values, (start, columns)), shape=(len(lots), batches.height)) for values in first]
    total, depth, level = list(now), _pattern(now[0]), 1
    while now[0].nnz:
        now = [matrix @ reached for matrix, reached in zip(back, now, strict=True)]
        now[0].data[now[0].data < LEAST_SHARE] = 0.0
        now[0].eliminate_zeros()
        kept = _pattern(now[0])
        now = [now[0], now[1].multiply(kept).tocsr(), now[2].multiply(kept).tocsr()]
        total = [so_far + more for so_far, more in zip(total, now, strict=True)]
        level += 1
        depth = depth + (kept - kept.multiply(_pattern(depth))) * level  # the shortest way counts
    reached = depth.tocoo()
    behind = pl.DataFrame(
        {
            "into": reached.row.astype(np.int64),
            "batch": batches["batch"].gather(reached.col),
            "depth": reached.data.astype(np.int32),
            "share_of_into": _entries(total[1], reached),
            "taken_of_into": _entries(total[2], reached),
        }
    )
    edges = steps.with_columns(pl.Series("into", into)).join(behind, on="into", how="inner")
    return edges.select(
        "batch", "run", "stage", "lot", "into_lot", "depth",
        (pl.col("share") * pl.col("share_of_into")).alias("share"),
        "quantity", "basis",
        (pl.col("per_unit") * pl.col("taken_of_into")).alias("consumed"),
    ).sort("batch", "depth", "run", "lot", "into_lot")  # fmt: skip


def _pattern(matrix: sparse.csr_matrix) -> sparse.csr_matrix:
    """One where the matrix holds something."""
    return sparse.csr_matrix((np.ones(matrix.nnz), matrix.indices, matrix.indptr), shape=matrix.shape)


def _entries(matrix: sparse.csr_matrix, where: sparse.coo_matrix) -> np.ndarray:
    return np.asarray(matrix[where.row, where.col]).ravel() if where.nnz else np.zeros(0)

"""Tables for people's spreadsheets: no cell of ours may run as a formula there, and no figure has a digit too many."""

import polars as pl

from gaugebook.pipeline.exported import exported_frame


def escape_formulas(frame: pl.DataFrame) -> pl.DataFrame:
    """Texts that a spreadsheet would take for a formula get an apostrophe in front; figures are as they are exported.

    >>> escape_formulas(pl.DataFrame({"lot": ["=1+1", "VOD-1"]}))["lot"].to_list()
    ["'=1+1", 'VOD-1']
    """
    risky = pl.col(pl.String).str.contains(r"^[=+\-@\t\r]")
    return exported_frame(frame).with_columns(
        pl.when(risky).then("'" + pl.col(pl.String)).otherwise(pl.col(pl.String)).name.keep()
    )

"""Tables for people's spreadsheets: no cell of ours may run as a formula there."""

import polars as pl


def harmless(frame: pl.DataFrame) -> pl.DataFrame:
    """Texts that a spreadsheet would take for a formula get an apostrophe in front.

    >>> harmless(pl.DataFrame({"lot": ["=1+1", "VOD-1"]}))["lot"].to_list()
    ["'=1+1", 'VOD-1']
    """
    risky = pl.col(pl.String).str.contains(r"^[=+\-@\t\r]")
    return frame.with_columns(pl.when(risky).then("'" + pl.col(pl.String)).otherwise(pl.col(pl.String)).name.keep())

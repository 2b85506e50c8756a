"""Tables for people's spreadsheets, the one way out: no cell of ours may run as a formula there.

Every CSV file and workbook that the program writes is made here, with its figures as they are exported.
"""

from collections.abc import Mapping
from datetime import datetime
from io import BytesIO
from typing import Any

import polars as pl

from gaugebook.pipeline.exported import exported_frame

_WIDEST = 48  # characters of a column
_LOOKED_AT = 200  # rows by which a column gets its width


def csv_bytes(frame: pl.DataFrame, line_end: str = "\n") -> bytes:
    r"""A table as CSV; a text that a spreadsheet would take for a formula gets an apostrophe in front.

    Parameters
    ----------
    frame : pl.DataFrame
        The table, figures in any unit [-]
    line_end : str
        What ends a line; \r\n in what is attached to documents (RFC 4180) [-]

    Returns
    -------
    bytes
        In UTF-8

    Examples
    --------
    >>> csv_bytes(pl.DataFrame({"lot": ["=1+1", "VOD-1"], "loss_l": [0.1 + 0.2, -1.0]}))
    b"lot,loss_l\n'=1+1,0.3\nVOD-1,-1.0\n"
    """
    return _without_formulas(exported_frame(frame)).write_csv(line_terminator=line_end).encode()


def workbook_bytes(tables: Mapping[str, pl.DataFrame], title: str, dated: datetime) -> bytes:
    """Tables as sheets of one workbook: the same bytes for the same figures.

    A cell's kind is written into the file, so a text stays one whatever it begins with.

    Parameters
    ----------
    tables : mapping
        Tables by the name of their sheet, figures in any unit [-]
    title : str
        Of the workbook's properties [-]
    dated : datetime
        Of its properties, since no clock may be read [UTC]

    Returns
    -------
    bytes
        An XLSX file
    """
    from xlsxwriter import Workbook

    out = BytesIO()
    book = Workbook(out, {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False,
                          "default_date_format": "yyyy-mm-dd hh:mm", "nan_inf_to_errors": False})  # fmt: skip
    book.set_properties({"title": title, "created": dated})
    bold = book.add_format({"bold": True})
    for name, frame in tables.items():
        sheet = book.add_worksheet(name)
        sheet.freeze_panes(1, 0)
        sheet.write_row(0, 0, frame.columns, bold)
        for column, series in enumerate(exported_frame(frame)):
            values = series.to_list()
            sheet.write_column(1, column, ["" if value is None else value for value in values])
            sheet.set_column(column, column, _width(series.name, values))
    book.close()
    return out.getvalue()


def _without_formulas(frame: pl.DataFrame) -> pl.DataFrame:
    risky = pl.col(pl.String).str.contains(r"^[=+\-@\t\r]")
    return frame.with_columns(pl.when(risky).then("'" + pl.col(pl.String)).otherwise(pl.col(pl.String)).name.keep())


def _width(name: str, values: list[Any]) -> int:
    longest = max((len(str(value)) for value in values[:_LOOKED_AT] if not isinstance(value, float)), default=8)
    return min(_WIDEST, max(len(name), longest, 8) + 1)

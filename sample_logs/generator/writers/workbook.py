"""Workbooks written part by part, so that their bytes depend on nothing but the cells.

Text goes into the cells themselves, times are numbers with a date format, parts are stored without compression
under one fixed date.
"""

import io
import zipfile
from collections.abc import Mapping, Sequence
from datetime import datetime
from xml.sax.saxutils import escape

Cell = str | int | float | datetime | None

_EPOCH = datetime(1899, 12, 30)
_DATE_STYLE = 1
_TYPES = "application/vnd.openxmlformats-officedocument.spreadsheetml"
_PACKAGE = "http://schemas.openxmlformats.org/package/2006"
_OFFICE = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
_MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
_HEAD = '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n'
_STYLES = (
    f'{_HEAD}<styleSheet xmlns="{_MAIN}"><numFmts count="1"><numFmt numFmtId="164" formatCode="dd/mm/yyyy\\ hh:mm"/>'
    '</numFmts><fonts count="1"><font><sz val="11"/><name val="Calibri"/></font></fonts>'
    '<fills count="1"><fill><patternFill patternType="none"/></fill></fills><borders count="1"><border/></borders>'
    '<cellStyleXfs count="1"><xf/></cellStyleXfs><cellXfs count="2"><xf xfId="0"/>'
    '<xf xfId="0" numFmtId="164" applyNumberFormat="1"/></cellXfs><cellStyles count="1">'
    '<cellStyle name="Normal" xfId="0" builtinId="0"/></cellStyles></styleSheet>'
)


def workbook(sheets: Mapping[str, Sequence[Sequence[Cell]]]) -> bytes:
    """A workbook of these sheets, each a list of rows from the first row on."""
    numbers = range(1, len(sheets) + 1)
    parts = {
        "[Content_Types].xml": _content_types(numbers),
        "_rels/.rels": _relations([("officeDocument", "xl/workbook.xml")]),
        "xl/workbook.xml": _book(list(sheets)),
        "xl/_rels/workbook.xml.rels": _relations(
            [*(("worksheet", f"worksheets/sheet{n}.xml") for n in numbers), ("styles", "styles.xml")]
        ),
        "xl/styles.xml": _STYLES,
    }
    for number, rows in zip(numbers, sheets.values(), strict=True):
        parts[f"xl/worksheets/sheet{number}.xml"] = _sheet(rows)
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_STORED) as archive:
        for name, text in parts.items():
            item = zipfile.ZipInfo(name, (2025, 1, 1, 0, 0, 0))
            item.create_system, item.external_attr = 0, 0
            archive.writestr(item, text.encode())
    return buffer.getvalue()


def _content_types(numbers: range) -> str:
    sheets = "".join(
        f'<Override PartName="/xl/worksheets/sheet{n}.xml" ContentType="{_TYPES}.worksheet+xml"/>' for n in numbers
    )
    return (
        f'{_HEAD}<Types xmlns="{_PACKAGE}/content-types">'
        '<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
        f'<Override PartName="/xl/workbook.xml" ContentType="{_TYPES}.sheet.main+xml"/>'
        f'<Override PartName="/xl/styles.xml" ContentType="{_TYPES}.styles+xml"/>{sheets}</Types>'
    )


def _relations(targets: list[tuple[str, str]]) -> str:
    items = "".join(
        f'<Relationship Id="rId{n}" Type="{_OFFICE}/{kind}" Target="{target}"/>'
        for n, (kind, target) in enumerate(targets, start=1)
    )
    return f'{_HEAD}<Relationships xmlns="{_PACKAGE}/relationships">{items}</Relationships>'


def _book(names: list[str]) -> str:
    sheets = "".join(
        f'<sheet name="{escape(name)}" sheetId="{n}" r:id="rId{n}"/>' for n, name in enumerate(names, start=1)
    )
    return f'{_HEAD}<workbook xmlns="{_MAIN}" xmlns:r="{_OFFICE}"><sheets>{sheets}</sheets></workbook>'


def _sheet(rows: Sequence[Sequence[Cell]]) -> str:
    body = "".join(
        f'<row r="{n}">{"".join(_cell(value, f"{_letters(c)}{n}") for c, value in enumerate(row))}</row>'
        for n, row in enumerate(rows, start=1)
    )
    return f'{_HEAD}<worksheet xmlns="{_MAIN}"><sheetData>{body}</sheetData></worksheet>'


def _cell(value: Cell, place: str) -> str:
    if value is None or value == "":
        return ""
    if isinstance(value, datetime):
        days = (value - _EPOCH).total_seconds() / 86400.0
        return f'<c r="{place}" s="{_DATE_STYLE}"><v>{days:.9f}</v></c>'
    if isinstance(value, str):
        return f'<c r="{place}" t="inlineStr"><is><t xml:space="preserve">{escape(value)}</t></is></c>'
    return f'<c r="{place}"><v>{value!r}</v></c>'


def _letters(column: int) -> str:
    return chr(65 + column) if column < 26 else chr(64 + column // 26) + chr(65 + column % 26)

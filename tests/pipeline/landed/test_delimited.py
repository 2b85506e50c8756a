"""Delimited text read block by block against Python's csv module reading all of it at once; all values made up."""

import csv
import gzip
import io
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gaugebook.pipeline.errors import FileRefused
from gaugebook.pipeline.landed import delimited
from gaugebook.pipeline.landed.delimited import WIDEST_CELL, DelimitedText
from gaugebook.pipeline.landed.quotes import are_regular, cut
from gaugebook.pipeline.landed.tables import open_tables
from gaugebook.pipeline.received.content import FileAtRest
from gaugebook.pipeline.received.source_map import Read, Section, SourceMap

WIDTH = 3

plain = st.text("ab1 ", max_size=3)
stray = st.builds('{}"{}'.format, st.text("a1 ", min_size=1, max_size=2), st.text('b"', max_size=2))
quoted = st.text('a,"\n ', max_size=6).map(lambda text: '"' + text.replace('"', '""') + '"')
rows_of_text = st.lists(st.lists(plain | stray | quoted, max_size=WIDTH + 2).map(",".join), max_size=8)


def text_file(folder: Path, text: str | bytes, **read: object) -> DelimitedText:
    path = folder / "log.csv"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return DelimitedText(FileAtRest(path), "log.csv", Read("csv", **read))  # type: ignore[arg-type]


def rows_read(source: DelimitedText, width: int = WIDTH, above: int = 0) -> list[tuple[str | None, ...]]:
    """Line, cells and what stands beyond them, of all blocks; blanks trimmed as the typed layer does."""
    return [
        (row[0], *((cell or "").strip() or None for cell in row[1 : 1 + width]), row[-1])
        for block in source.rows(width, above)
        for row in block.frame.iter_rows()
    ]


def rows_by_csv(text: str) -> list[tuple[object, ...]]:
    """The same by csv.reader over the whole text."""
    reader, begins_at, rows = csv.reader(io.StringIO(text, newline=""), strict=True), 1, []
    for cells in reader:
        padded = [cell.strip() or None for cell in [*cells, *[""] * WIDTH][:WIDTH]]
        rows.append((begins_at, *padded, " | ".join(cell for cell in cells[WIDTH:] if cell.strip()) or None))
        begins_at = reader.line_num + 1
    return [row for row in rows if any(row[1:])]


def filled(rows: list[tuple[str | None, ...]]) -> list[tuple[str | None, ...]]:
    """Without rows that hold nothing but blanks, which the quick reading may still have."""
    return [row for row in rows if any(row[1:])]


@given(lines=rows_of_text, ends=st.booleans(), block_bytes=st.integers(1, 40))
def test_blocks_of_any_size_give_the_rows_of_csv(tmp_path_factory, lines, ends, block_bytes):
    """Stray quotes, quoted cells and line breaks in them: cut into blocks, rows and lines are those of one reading."""
    text = "\n".join(lines) + "\n" * ends
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(delimited, "BLOCK_BYTES", block_bytes)
        patch.setattr(delimited, "PIECE_BYTES", max(block_bytes // 3, 1))
        assert filled(rows_read(text_file(tmp_path_factory.mktemp("log"), text))) == rows_by_csv(text)


@given(text=st.text('a"",\n', max_size=40), block_bytes=st.integers(1, 40))
def test_what_csv_refuses_is_refused(tmp_path_factory, text, block_bytes):
    """Whatever stands between the quotes: the rows are those of csv, or both refuse."""
    try:
        expected = rows_by_csv(text)
    except csv.Error:
        expected = None
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(delimited, "BLOCK_BYTES", block_bytes)
        patch.setattr(delimited, "PIECE_BYTES", max(block_bytes // 3, 1))
        source = text_file(tmp_path_factory.mktemp("log"), text)
        if expected is None:
            with pytest.raises(FileRefused, match=r"^log\.csv, line \d+: "):
                rows_read(source)
        else:
            assert filled(rows_read(source)) == expected


@given(before=st.text('a"",\n', max_size=10), part=st.text('a"",\n', max_size=20))
def test_a_cut_loses_nothing_and_ends_with_a_row(before, part):
    """The two pieces make up the text, and csv finds no open cell in the first."""
    whole, rest = cut(before.encode(), part.encode(), ",")

    assert (whole + rest).decode() == before + part
    assert whole == b"" or whole.endswith(b"\n")
    try:
        list(csv.reader(io.StringIO(whole.decode(), newline=""), strict=True))
    except csv.Error as error:
        assert "end of data" not in str(error)


@pytest.mark.parametrize(
    ("block", "regular"),
    [
        (b"a,b\n", True),
        (b'"a","b ""c"""\n"d\ne",""\n', True),
        (b'a,"b"', True),
        (b'valve 1/2" opened,1\n', False),
        (b'3" by 4",1\n', False),
        (b'"a"b,1\n', False),
        (b'a,"b\n', False),
    ],
)
def test_regular_quotes(block, regular):
    """Regular are quotes that enclose a whole cell or are doubled in one."""
    assert are_regular(block, ",") is regular


def test_one_stray_quote_leaves_the_rest_in_blocks(tmp_path, monkeypatch):
    """After `1/2"` the text is cut as before: no piece of it grows to the file's end."""
    monkeypatch.setattr(delimited, "BLOCK_BYTES", 1000)
    text = 'time,1/2" valve,x\n' + "00:00,opened,1\n" * 1000
    source = text_file(tmp_path, text)

    blocks = list(source._blocks())

    assert b"".join(block for block, _ in blocks) == text.encode()
    assert max(len(block) for block, _ in blocks) <= 1000 + len("00:00,opened,1\n")


def test_one_stray_quote_sends_few_rows_the_slow_way(tmp_path, monkeypatch):
    """Of a block only the piece around it is read by letter; the rows are those of csv."""
    monkeypatch.setattr(delimited, "PIECE_BYTES", 1000)
    text = "00:00,opened,1\n" * 500 + '00:00,1/2" valve,1\n' + "00:00,opened,1\n" * 500
    source = text_file(tmp_path, text)
    read, by_letter = [], source._by_letter
    source._by_letter = lambda block, line: (read.append(block), by_letter(block, line))[1]  # type: ignore[method-assign]

    assert rows_read(source) == rows_by_csv(text)
    assert len(read) == 1 and len(read[0]) < 1100


def test_separators_at_the_ends_of_lines_are_read_quickly(tmp_path, monkeypatch):
    """Blank cells past the header do not send a block to the csv module; a filled one is told as beyond."""
    source = text_file(tmp_path, 'h1,h2,,\na,1,,\nb,2,,x\nc,,"y,z",\n')
    expected = [(2, "a", "1", None), (3, "b", "2", "x"), (4, "c", None, "y,z")]
    assert rows_read(source, width=2, above=1) == expected

    def by_letter(*_: object) -> None:
        raise AssertionError("read by letter")

    monkeypatch.setattr(DelimitedText, "_by_letter", by_letter)
    assert rows_read(source, width=2, above=1) == expected
    assert [rows.frame["c1"].to_list() for rows in source.rows(2, 1, [1])] == [[1.0, 2.0, None]]


def test_an_open_quote_is_told_where_its_row_begins(tmp_path):
    """Not where the cell grew too long, nor at the file's end."""
    for tail in ("x\n" * 60_000, "x\n" * 10):
        source = text_file(tmp_path, 'h1,h2\na,1\nb,"2\n' + tail)
        with pytest.raises(FileRefused, match=r"line 3: the row that begins here cannot be split"):
            rows_read(source, width=2, above=1)


def test_an_open_quote_is_refused_before_the_end_of_a_long_file(tmp_path):
    """After some megabytes: the rest of the file is not taken for one cell."""
    source = text_file(tmp_path, 'a,1\nb,"2\n' + "x,1\n" * 5_000_000)
    parts = []
    whole = source._parts
    source._parts = lambda size: (parts.append(size) or part for part in whole(size))  # type: ignore[method-assign]

    with pytest.raises(FileRefused, match=r"line 2: .*; close or remove its open quote\.$"):
        rows_read(source, width=2)

    assert len(parts) == 2


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-16"])
def test_a_bad_byte_is_told_by_its_line(tmp_path, end, encoding):
    """With any kind of line ends, in any encoding."""
    bad = b"\xff" if encoding == "utf-8" else b"\x00\xdc"
    content = end.join(["h1,h2", "a,1", "b,2", ""]).encode(encoding) + bad + b"a\x00"

    with pytest.raises(FileRefused, match=r"^log\.csv, line 4: a byte is not"):
        rows_read(text_file(tmp_path, content, encoding=encoding))


@pytest.mark.parametrize("above", ["", "exported by a made-up device\n"])
@pytest.mark.parametrize("block_bytes", [5, 1000])
def test_a_heading_may_be_broken_over_lines(tmp_path, monkeypatch, above, block_bytes):
    """A line break within quotes belongs to the heading; the rows' lines are those of the file."""
    monkeypatch.setattr(delimited, "BLOCK_BYTES", block_bytes)
    path = tmp_path / "log.csv"
    path.write_text(above + '"still\nhead",parrot\n°C,% vol\n78.5,80\n', encoding="utf-8")
    read = Read("csv", header_line=1 + above.count("\n"), skip_after_header=1)
    sections = (Section("readings", ("parrot", "still\nhead")),)
    source_map = SourceMap("log", "", "", ("*.csv",), read, sections)

    table = open_tables(FileAtRest(path), "log.csv", source_map)[0]

    assert table.header == ["still\nhead", "parrot"]
    rows = [row for block in table.rows for row in block.frame.iter_rows()]
    assert rows == [(4 + above.count("\n"), "78.5", "80", None)]


@pytest.mark.parametrize("name", ["log.csv", "log.csv.gz"])
def test_a_file_that_was_read_is_closed(tmp_path, name):
    """Packed or plain, read to its end or only its first lines: no handle is left to the garbage collector."""
    opened = []

    class Watched(FileAtRest):
        """A file whose handles are kept, so that nothing but the reader closes them."""

        def open(self):
            """Its bytes from the beginning."""
            opened.append(super().open())
            return opened[-1]

    text = b"Time,Pot\n" + b"2026-01-02,78.20\n" * 9000
    (tmp_path / name).write_bytes(gzip.compress(text) if name.endswith("gz") else text)
    source = DelimitedText(Watched(tmp_path / name), name, Read("csv"))

    assert source.opening(1) == [["Time", "Pot"]]
    assert [stream.closed for stream in opened] == [True] * len(opened)
    assert sum(rows.frame.height for rows in source.rows(2, 1)) == 9000
    assert len(opened) == 4
    assert all(stream.closed for stream in opened)


def test_a_heading_that_is_never_closed_is_refused(tmp_path):
    """With the line in which it begins."""
    source = text_file(tmp_path, 'a,"b\n' + "1,2\n" * 10)

    with pytest.raises(FileRefused, match=r"^log\.csv, line 1: the row that begins here"):
        source.opening(1)


def test_the_widest_cell_is_ours_and_no_setting_of_the_process(tmp_path):
    """A cell that is too wide is refused at its row, and csv's own limit is for everybody else what it was."""
    before = csv.field_size_limit()
    source = text_file(tmp_path, 'h1,h2\na,1\nb,"' + "x" * (WIDEST_CELL + 1) + '"\n')
    with pytest.raises(FileRefused, match=r"line 3: cannot be split into cells \(field larger than field limit"):
        source.opening(3)
    assert csv.field_size_limit() == before


@pytest.mark.parametrize(("row", "words"), [('b,"2', "close or remove its open quote"), ('b,"2"x', "mend the line")])
def test_what_is_wrong_is_known_in_whatever_words_csv_says_it(tmp_path, monkeypatch, row, words):
    """A quote that is never closed is told from a stray one by where the text ends."""
    reader = csv.reader

    class InOtherWords:
        def __init__(self, *given, **named):
            self._reader = reader(*given, **named)

        line_num = property(lambda self: self._reader.line_num)

        def __iter__(self):
            return self

        def __next__(self):
            try:
                return next(self._reader)
            except csv.Error:
                raise csv.Error("Fehler") from None

    monkeypatch.setattr(csv, "reader", InOtherWords)
    with pytest.raises(FileRefused, match=rf"line 2: .*\(Fehler\).*{words}"):
        text_file(tmp_path, f"h1,h2\n{row}\n").opening(2)

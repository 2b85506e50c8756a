"""Delimited text to frames of text, block by block, so that a log of any length takes the same memory.

Well-formed blocks are split by polars; a block that it cannot split faithfully (a row longer than the first, a stray
quote, a line break inside quotes) is split by Python's csv module, slower and to the letter.
"""

import codecs
import csv
import gzip
import io
import itertools
import re
import zlib
from collections.abc import Collection, Generator, Iterator
from contextlib import closing, contextmanager
from typing import BinaryIO

import numpy as np
import polars as pl

from gaugebook.pipeline.errors import FileRefused
from gaugebook.pipeline.landed.frames import Rows, ahead, frame_of_rows, named_by_position, text_rows
from gaugebook.pipeline.landed.quotes import are_regular, cut
from gaugebook.pipeline.received.content import Content
from gaugebook.pipeline.received.source_map import Read

BLOCK_BYTES = 8 * 2**20  # larger and smaller ones cost a tenth more
PIECE_BYTES = 2**20  # of a block that cannot be split quickly as a whole
OPENING_BYTES = 2**16
LONGEST_ROW = 8 * 2**20  # bytes; of a longer one each cell must be looked at before more of it is read
LONGEST_OPENING = 2**20  # bytes; no header stands further down
MOST_EXTRA = 64  # columns past the header's that are read quickly
WIDEST_CELL = 100_000  # characters, fewer than csv takes; a longer one is a broken quote, not a value
LARGEST_UNPACKED_BYTES = 2**37  # of a gzip file; more is broken or hostile


class DelimitedText:
    """A text file opened for reading: its first lines as cells, then frames of the rows below the header.

    Parameters
    ----------
    content : FileAtRest or CopyInMaking
        The kept copy.
    shown : str
        How messages name the file.
    """

    def __init__(self, content: Content, shown: str, read: Read) -> None:
        self.content, self.shown, self.read = content, shown, read

    def opening(self, count: int) -> list[list[str]]:
        """The cells of the first rows, at most so many; a row is one line unless a quoted cell holds line breaks."""
        content = b""
        with closing(self._parts(OPENING_BYTES)) as parts:
            for part in parts:
                content += part
                if content.count(b"\n") >= count:
                    whole, _ = cut(b"", content, self.read.separator)
                    rows = self._by_letter(whole, 1, count)[0]
                    if len(rows) == count:
                        return rows
                if len(content) > LONGEST_OPENING:
                    break
        return self._by_letter(content, 1, count)[0]

    def rows(self, width: int, above: int, numbers: Collection[int] = ()) -> Iterator[Rows]:
        """Rows below the first `above` lines, block by block, wholly blank ones left out.

        Columns: line, one for each of `width` columns by position, and beyond (cells past the header's width). Cells
        may still have blanks at their ends: to trim them all would take as long as all the rest. The columns at the
        positions `numbers` are numbers at once in blocks where each of their cells is one.
        """
        if self.content.size_bytes <= BLOCK_BYTES:
            return self._split(self._blocks(), width, above, numbers)
        return ahead(self._split(ahead(self._blocks()), width, above, numbers))

    def _split(
        self, blocks: Iterator[tuple[bytes, int]], width: int, above: int, numbers: Collection[int]
    ) -> Iterator[Rows]:
        line = 1
        for block, lines in blocks:
            for rows in self._rows(block, lines, width, line, above, numbers):
                if rows.frame.height:
                    yield rows
            line += lines

    def _blocks(self) -> Iterator[tuple[bytes, int]]:
        """The text in blocks of whole rows, each with its number of lines."""
        line, rest = 1, b""
        for part in self._parts(BLOCK_BYTES):
            block, rest = cut(rest, part, self.read.separator)
            if block:
                lines = _line_ends(block)
                yield block, lines
                line += lines
            if len(rest) > LONGEST_ROW:
                self._by_letter(rest, line)  # a quote that is never closed is refused here, not at the file's end
        if rest:
            yield rest, rest.count(b"\n") + 1

    def _rows(
        self, block: bytes, lines: int, width: int, first_line: int, above: int, numbers: Collection[int]
    ) -> Iterator[Rows]:
        if first_line <= above:
            to_skip = above - first_line + 1
            skipped = block.split(b"\n", to_skip)
            block = skipped[-1] if len(skipped) > to_skip else b""
            first_line, lines = above + 1, lines - to_skip
        frame = self._split_quickly(block, lines, width, first_line, numbers) if numbers else None
        if frame is not None:
            yield Rows(frame, lambda wanted: self._some_as_text(block, width, first_line, wanted))
            return
        frame = self._split_quickly(block, lines, width, first_line)
        if frame is not None:
            yield text_rows(frame)
            return
        # Often one row is at fault: only the piece that it stands in is read by letter.
        for piece, its_lines in self._pieces(block):
            yield text_rows(self._as_text(piece, its_lines, width, first_line))
            first_line += its_lines

    def _pieces(self, block: bytes) -> Iterator[tuple[bytes, int]]:
        """Whole rows of a block in pieces, each with its number of lines."""
        rest = b""
        for start in range(0, len(block), PIECE_BYTES):
            piece, rest = cut(rest, block[start : start + PIECE_BYTES], self.read.separator)
            if piece:
                yield piece, _line_ends(piece)
        if rest:
            yield rest, rest.count(b"\n") + 1

    def _as_text(self, block: bytes, lines: int, width: int, first_line: int) -> pl.DataFrame:
        frame = self._split_quickly(block, lines, width, first_line)
        if frame is None:
            frame = _without_blank_rows(frame_of_rows(*self._by_letter(block, first_line), width))
        return frame

    def _some_as_text(self, block: bytes, width: int, first_line: int, wanted: pl.Series) -> pl.DataFrame:
        """The rows at some lines of a block in which every row is one line."""
        ends = np.r_[-1, np.flatnonzero(np.frombuffer(block, np.uint8) == ord("\n")), len(block)]
        texts = [block[ends[line - first_line] + 1 : ends[line - first_line + 1]] for line in wanted]
        frame = self._as_text(b"\n".join(texts), len(texts), width, first_line=0)
        return frame.with_columns(wanted.gather(frame["line"]).alias("line"))

    def _split_quickly(
        self, block: bytes, lines: int, width: int, first_line: int, numbers: Collection[int] = ()
    ) -> pl.DataFrame | None:
        """The block split by polars, or None where it would not be split to the letter."""
        if not are_regular(block, self.read.separator):
            return None
        try:
            extra = min(_cells_of_first_line(block, self.read.separator) - width, MOST_EXTRA)
            names = named_by_position(width + max(extra, 0))
            schema = {name: pl.Float64 if at in numbers else pl.String for at, name in enumerate(names)}
            frame = pl.read_csv(
                block, has_header=False, separator=self.read.separator, infer_schema=False, schema=schema
            )
        except (pl.exceptions.PolarsError, csv.Error):
            return None
        if frame.height != lines:
            return None
        line = pl.int_range(first_line, first_line + frame.height, dtype=pl.Int32, eager=True)
        frame = frame.insert_column(0, line.alias("line")).with_columns(beyond=_beyond(frame, names[width:]))
        return _without_blank_rows(frame.drop(names[width:]))

    def _by_letter(self, block: bytes, first_line: int, most: int | None = None) -> tuple[list[list[str]], list[int]]:
        all_lines_given = False

        def text() -> Iterator[str]:
            nonlocal all_lines_given
            yield from io.StringIO(block.decode(), newline="")
            all_lines_given = True

        reader = csv.reader(text(), delimiter=self.read.separator, strict=True)
        rows, lines, begins_at = [], [], 1

        def refused(why: object) -> FileRefused:
            is_open = all_lines_given or reader.line_num > begins_at  # a quote that no line closes
            return FileRefused(
                "file.broken-text", f"{self.shown}, line {first_line + begins_at - 1}: {_fault(why, is_open)}"
            )

        try:
            for cells in itertools.islice(reader, most):
                if max(map(len, cells), default=0) > WIDEST_CELL:
                    raise refused(f"field larger than field limit ({WIDEST_CELL})")
                rows.append(cells)
                lines.append(first_line + begins_at - 1)
                begins_at = reader.line_num + 1
        except csv.Error as error:
            raise refused(error) from error
        return rows, lines

    def _parts(self, size: int) -> Generator[bytes]:
        """The file's text in UTF-8, every line ending a line feed, in parts of about this size."""
        decoder = io.IncrementalNewlineDecoder(codecs.getincrementaldecoder(self.read.encoding)(), translate=True)
        with self._open() as stream:
            for number in itertools.count():
                content = self._read_part(stream, size)
                is_last = not content
                if number == 0 and self.read.encoding == "utf-8":
                    content = content.removeprefix(codecs.BOM_UTF8)
                part = self._as_it_is(content, decoder)
                if part is None:
                    part = self._decoded(content, decoder, size, number)
                if b"\0" in part:
                    line = self._lines_before(size, number) + part[: part.index(b"\0")].count(b"\n") + 1
                    raise FileRefused(
                        "file.not-text", f"{self.shown}, line {line}: holds a NUL character, so it is no text export."
                    )
                if part:
                    yield part
                if is_last:
                    return

    def _read_part(self, stream: BinaryIO, size: int) -> bytes:
        try:
            content = stream.read(size)
            if content.endswith(b"\r"):  # perhaps half a line ending
                content += stream.read(1)
        except (OSError, EOFError, zlib.error) as error:
            raise FileRefused("file.not-gzip", f"{self.shown}: is no sound gzip file ({error}).") from error
        if content and stream.tell() > LARGEST_UNPACKED_BYTES:
            raise FileRefused("file.too-large", f"{self.shown}: unpacks to an absurd size; that is no log.")
        return content

    def _as_it_is(self, content: bytes, decoder: io.IncrementalNewlineDecoder) -> bytes | None:
        """Plain ASCII needs no decoding, only its line endings looked at; None for anything else."""
        if self.read.encoding == "utf-16" or decoder.getstate() != (b"", 0):
            return None
        if not content.isascii() or content.endswith(b"\r"):
            return None
        if b"\r" not in content:
            return content
        return content.replace(b"\r\n", b"\n").replace(b"\r", b"\n")

    def _lines_before(self, size: int, number: int) -> int:
        """Line ends in the parts before this one; counted only where a message needs it."""
        return sum(part.count(b"\n") for part in itertools.islice(self._parts(size), number))

    def _decoded(self, content: bytes, decoder: io.IncrementalNewlineDecoder, size: int, number: int) -> bytes:
        try:
            return decoder.decode(content, final=not content).encode()
        except UnicodeDecodeError as error:
            before = error.object[: error.start].decode(error.encoding)
            line = self._lines_before(size, number) + len(re.findall("\r\n|\r|\n", before)) + 1
            raise FileRefused(
                "file.encoding",
                f"{self.shown}, line {line}: a byte is not {self.read.encoding} text ({error.reason}); "
                "name the right encoding in the source map.",
            ) from error

    @contextmanager
    def _open(self) -> Iterator[BinaryIO]:
        with self.content.open() as stream:
            is_gzip = stream.read(2) == b"\x1f\x8b"
        with self.content.open() as stream:  # a gzip file does not close what it unpacks
            yield gzip.GzipFile(fileobj=stream) if is_gzip else stream  # type: ignore[misc]


def _without_blank_rows(frame: pl.DataFrame) -> pl.DataFrame:
    blank = frame.select(pl.all_horizontal(pl.exclude("line").is_null())).to_series()
    return frame.filter(~blank) if blank.any() else frame


def _cells_of_first_line(block: bytes, separator: str) -> int:
    """Exporters that end each line with a separator, the header too, make rows longer than the header's names."""
    end = block.find(b"\n")
    line = block[:end] if end >= 0 else block
    if b'"' not in line:
        return line.count(separator.encode()) + 1
    return len(next(csv.reader([line.decode()], delimiter=separator)))


def _beyond(frame: pl.DataFrame, extra: list[str]) -> pl.Expr:
    """What stands past the header's columns, as `frame_of_rows` gives it; nearly always nothing."""
    filled = [name for name in extra if frame[name].null_count() < frame.height]
    if not filled:
        return pl.lit(None, pl.String)
    cells = [pl.when(pl.col(name).str.strip_chars() != "").then(pl.col(name)) for name in filled]
    joined = pl.concat_str(cells, separator=" | ", ignore_nulls=True)
    return pl.when(joined != "").then(joined)


def _line_ends(text: bytes) -> int:
    """How many there are; a third of the time of bytes.count where they stand close."""
    return int(np.count_nonzero(np.frombuffer(text, np.uint8) == ord("\n")))


def _fault(error: object, is_open: bool) -> str:
    """What is wrong with the row that begins in the line named, and what to do."""
    if is_open:
        return f"the row that begins here cannot be split into cells ({error}); close or remove its open quote."
    return f"cannot be split into cells ({error}); mend the line."

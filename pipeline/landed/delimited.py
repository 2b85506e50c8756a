"""Delimited text to frames of text, block by block, so that a log of any length takes the same memory.

Well-formed blocks are split by polars; a block that it cannot split faithfully (a row longer than the header, a line
break inside quotes) is split by Python's csv module, slower and to the letter.
"""

import codecs
import csv
import gzip
import io
import itertools
import zlib
from collections.abc import Iterator
from pathlib import Path
from typing import BinaryIO

import polars as pl

from pipeline.errors import FileRefused
from pipeline.landed.frames import frame_of_rows, named_by_position
from pipeline.received.source_map import Read

BLOCK_BYTES = 16 * 2**20  # larger ones cost a third more, in fresh memory
OPENING_BYTES = 2**16
LONGEST_OPENING = 2**20  # bytes; no header stands further down
WIDEST_CELL = 100_000  # characters; a longer one is a broken quote, not a value
LARGEST_UNPACKED_BYTES = 2**37  # of a gzip file; more is broken or hostile


class DelimitedText:
    """A text file opened for reading: its first lines as cells, then frames of the rows below the header.

    Parameters
    ----------
    path : Path
        The kept copy.
    shown : str
        How messages name the file.
    """

    def __init__(self, path: Path, shown: str, read: Read) -> None:
        self.path, self.shown, self.read = path, shown, read

    def opening(self, lines: int) -> list[list[str]]:
        """The cells of the first lines, at most so many."""
        content = b""
        for part in self._parts(OPENING_BYTES):
            content += part
            if content.count(b"\n") >= lines or len(content) > LONGEST_OPENING:
                break
        return self._by_letter(b"\n".join(content.split(b"\n")[:lines]), 1)[0]

    def frames(self, width: int, above: int) -> Iterator[pl.DataFrame]:
        """Rows below the first `above` lines, block by block, wholly blank ones left out.

        Columns: line, one for each of `width` columns by position, and beyond (cells past the header's width). Cells
        may still have blanks at their ends: to trim them all would take as long as all the rest.
        """
        line, rest = 1, b""
        for part in self._parts(BLOCK_BYTES):
            block, rest = _cut(rest + part)
            if block:
                lines = block.count(b"\n")
                yield from self._frame(block, lines, width, line, above)
                line += lines
            if len(rest) > BLOCK_BYTES:
                self._by_letter(rest, line)  # a quote that is never closed is refused here, not at the file's end
        if rest:
            yield from self._frame(rest, rest.count(b"\n") + 1, width, line, above)

    def _frame(self, block: bytes, lines: int, width: int, first_line: int, above: int) -> Iterator[pl.DataFrame]:
        if first_line <= above:
            to_skip = above - first_line + 1
            skipped = block.split(b"\n", to_skip)
            block = skipped[-1] if len(skipped) > to_skip else b""
            first_line, lines = above + 1, lines - to_skip
        frame = self._split_quickly(block, lines, width, first_line)
        if frame is None:
            rows, numbers = self._by_letter(block, first_line)
            frame = frame_of_rows(rows, numbers, width)
        blank = frame.select(pl.all_horizontal(pl.exclude("line").is_null())).to_series()
        if blank.any():
            frame = frame.filter(~blank)
        if frame.height:
            yield frame

    def _split_quickly(self, block: bytes, lines: int, width: int, first_line: int) -> pl.DataFrame | None:
        """The block split by polars, or None where it would not be split to the letter."""
        try:
            frame = pl.read_csv(
                block, has_header=False, separator=self.read.separator, infer_schema=False,
                schema=dict.fromkeys(named_by_position(width), pl.String),
            )  # fmt: skip
        except pl.exceptions.PolarsError:
            return None
        if frame.height != lines:
            return None
        numbers = pl.int_range(first_line, first_line + frame.height, dtype=pl.Int32, eager=True)
        return frame.insert_column(0, numbers.alias("line")).with_columns(beyond=pl.lit(None, pl.String))

    def _by_letter(self, block: bytes, first_line: int) -> tuple[list[list[str]], list[int]]:
        csv.field_size_limit(WIDEST_CELL)
        reader = csv.reader(io.StringIO(block.decode(), newline=""), delimiter=self.read.separator, strict=True)
        rows, lines, begins_at = [], [], 1
        try:
            for cells in reader:
                rows.append(cells)
                lines.append(first_line + begins_at - 1)
                begins_at = reader.line_num + 1
        except csv.Error as error:
            raise FileRefused(
                "file.broken-text",
                f"{self.shown}, line {first_line + reader.line_num - 1}: cannot be split into cells ({error}); "
                "mend the line.",
            ) from error
        return rows, lines

    def _parts(self, size: int) -> Iterator[bytes]:
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
            line = self._lines_before(size, number) + error.object[: error.start].count(b"\n") + 1
            raise FileRefused(
                "file.encoding",
                f"{self.shown}, line {line}: a byte is not {self.read.encoding} text ({error.reason}); "
                "name the right encoding in the source map.",
            ) from error

    def _open(self) -> BinaryIO:
        with self.path.open("rb") as stream:
            is_gzip = stream.read(2) == b"\x1f\x8b"
        return gzip.open(self.path, "rb") if is_gzip else self.path.open("rb")  # type: ignore[return-value]


def _cut(text: bytes) -> tuple[bytes, bytes]:
    """Whole rows, and the rest: cut at the last line end outside quotes."""
    end = text.rfind(b"\n")
    is_quoted = b'"' in text and text.count(b'"', 0, end) % 2 == 1
    while is_quoted and end >= 0:
        before = text.rfind(b"\n", 0, end)
        is_quoted ^= text.count(b'"', before + 1, end) % 2 == 1
        end = before
    return text[: end + 1], text[end + 1 :]

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
from collections.abc import Collection, Iterator
from typing import BinaryIO

import numpy as np
import polars as pl

from pipeline.errors import FileRefused
from pipeline.landed.frames import Rows, ahead, frame_of_rows, named_by_position, text_rows
from pipeline.received.content import Content
from pipeline.received.source_map import Read

BLOCK_BYTES = 8 * 2**20  # larger and smaller ones cost a tenth more
OPENING_BYTES = 2**16
LONGEST_OPENING = 2**20  # bytes; no header stands further down
WIDEST_CELL = 100_000  # characters; a longer one is a broken quote, not a value
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

    def opening(self, lines: int) -> list[list[str]]:
        """The cells of the first lines, at most so many."""
        content = b""
        for part in self._parts(OPENING_BYTES):
            content += part
            if content.count(b"\n") >= lines or len(content) > LONGEST_OPENING:
                break
        return self._by_letter(b"\n".join(content.split(b"\n")[:lines]), 1)[0]

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
            rows = self._rows(block, lines, width, line, above, numbers)
            if rows.frame.height:
                yield rows
            line += lines

    def _blocks(self) -> Iterator[tuple[bytes, int]]:
        """The text in blocks of whole rows, each with its number of lines."""
        line, rest = 1, b""
        for part in self._parts(BLOCK_BYTES):
            block, rest = _cut(rest, part)
            if block:
                lines = _line_ends(block)
                yield block, lines
                line += lines
            if len(rest) > BLOCK_BYTES:
                self._by_letter(rest, line)  # a quote that is never closed is refused here, not at the file's end
        if rest:
            yield rest, rest.count(b"\n") + 1

    def _rows(
        self, block: bytes, lines: int, width: int, first_line: int, above: int, numbers: Collection[int]
    ) -> Rows:
        if first_line <= above:
            to_skip = above - first_line + 1
            skipped = block.split(b"\n", to_skip)
            block = skipped[-1] if len(skipped) > to_skip else b""
            first_line, lines = above + 1, lines - to_skip
        frame = self._split_quickly(block, lines, width, first_line, numbers) if numbers else None
        if frame is not None:
            return Rows(frame, lambda wanted: self._some_as_text(block, width, first_line, wanted))
        return text_rows(self._as_text(block, lines, width, first_line))

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
        names = named_by_position(width)
        schema = {name: pl.Float64 if at in numbers else pl.String for at, name in enumerate(names)}
        try:
            frame = pl.read_csv(
                block, has_header=False, separator=self.read.separator, infer_schema=False, schema=schema
            )
        except pl.exceptions.PolarsError:
            return None
        if frame.height != lines:
            return None
        line = pl.int_range(first_line, first_line + frame.height, dtype=pl.Int32, eager=True)
        frame = frame.insert_column(0, line.alias("line")).with_columns(beyond=pl.lit(None, pl.String))
        return _without_blank_rows(frame)

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
        with self.content.open() as stream:
            is_gzip = stream.read(2) == b"\x1f\x8b"
        stream = self.content.open()
        return gzip.GzipFile(fileobj=stream) if is_gzip else stream  # type: ignore[return-value]


def _without_blank_rows(frame: pl.DataFrame) -> pl.DataFrame:
    blank = frame.select(pl.all_horizontal(pl.exclude("line").is_null())).to_series()
    return frame.filter(~blank) if blank.any() else frame


def _line_ends(text: bytes) -> int:
    """How many there are; a third of the time of bytes.count where they stand close."""
    return int(np.count_nonzero(np.frombuffer(text, np.uint8) == ord("\n")))


def _cut(before: bytes, part: bytes) -> tuple[bytes, bytes]:
    """Whole rows of two pieces of text, and the rest: cut at the last line end outside quotes."""
    if b'"' not in before and b'"' not in part:
        end = part.rfind(b"\n") + 1
        return (b"".join((before, memoryview(part)[:end])), part[end:]) if end else (b"", before + part)
    text = before + part
    end = text.rfind(b"\n")
    is_quoted = text.count(b'"', 0, end) % 2 == 1
    while is_quoted and end >= 0:
        earlier = text.rfind(b"\n", 0, end)
        is_quoted ^= text.count(b'"', earlier + 1, end) % 2 == 1
        end = earlier
    return text[: end + 1], text[end + 1 :]

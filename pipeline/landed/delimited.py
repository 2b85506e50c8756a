"""Delimited text to frames of text, block by block, so that a log of any length takes the same memory.

Well-formed blocks are split by polars; a block that it cannot split faithfully (a row longer than the header, a line
break inside quotes) is split by Python's csv module, slower and to the letter.
"""

import codecs
import csv
import gzip
import io
import zlib
from collections.abc import Iterator
from pathlib import Path
from typing import BinaryIO

import polars as pl

from pipeline.errors import FileRefused
from pipeline.landed.frames import frame_of_rows, named_by_position
from pipeline.received.source_map import Read

BLOCK_BYTES = 32 * 2**20
OPENING_BYTES = 2**16
LONGEST_OPENING = 2**20  # characters; no header stands further down
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
        text = ""
        for part in self._texts(OPENING_BYTES):
            text += part
            if text.count("\n") >= lines or len(text) > LONGEST_OPENING:
                break
        return self._by_letter("\n".join(text.split("\n")[:lines]), 1)[0]

    def frames(self, width: int, above: int) -> Iterator[pl.DataFrame]:
        """Rows below the first `above` lines, block by block, wholly blank ones left out.

        Columns: line, one for each of `width` columns by position, and beyond (cells past the header's width). Cells
        may still have blanks at their ends: to trim them all would take as long as all the rest.
        """
        line, rest = 1, ""
        for text in self._texts(BLOCK_BYTES):
            block, rest = _cut(rest + text)
            if block:
                yield from self._frame(block, width, line, above)
                line += block.count("\n")
        if rest:
            yield from self._frame(rest, width, line, above)

    def _frame(self, block: str, width: int, first_line: int, above: int) -> Iterator[pl.DataFrame]:
        if first_line <= above:
            skipped = block.split("\n", above - first_line + 1)
            block = skipped[-1] if len(skipped) > above - first_line + 1 else ""
            first_line = above + 1
        frame = self._split_quickly(block, width, first_line)
        if frame is None:
            rows, lines = self._by_letter(block, first_line)
            frame = frame_of_rows(rows, lines, width)
        blank = frame.select(pl.all_horizontal(pl.exclude("line").is_null())).to_series()
        if blank.any():
            frame = frame.filter(~blank)
        if frame.height:
            yield frame

    def _split_quickly(self, block: str, width: int, first_line: int) -> pl.DataFrame | None:
        """The block split by polars, or None where it would not be split to the letter."""
        separator = self.read.separator
        lines = block.count("\n") + (not block.endswith("\n"))
        try:
            frame = pl.read_csv(
                block.encode(), has_header=False, separator=separator, infer_schema=False,
                schema=dict.fromkeys(named_by_position(width), pl.String),
            )  # fmt: skip
        except pl.exceptions.PolarsError:
            return None
        if frame.height != lines:
            return None
        numbers = pl.int_range(first_line, first_line + frame.height, dtype=pl.Int32, eager=True)
        return frame.insert_column(0, numbers.alias("line")).with_columns(beyond=pl.lit(None, pl.String))

    def _by_letter(self, text: str, first_line: int) -> tuple[list[list[str]], list[int]]:
        csv.field_size_limit(WIDEST_CELL)
        reader = csv.reader(io.StringIO(text, newline=""), delimiter=self.read.separator, strict=True)
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

    def _texts(self, block_bytes: int) -> Iterator[str]:
        """Decoded text with every line ending as a line feed."""
        decoder = io.IncrementalNewlineDecoder(codecs.getincrementaldecoder(self._codec())(), translate=True)
        lines_before = 0
        with self._open() as stream:
            while True:
                try:
                    content = stream.read(block_bytes)
                except (OSError, EOFError, zlib.error) as error:
                    raise FileRefused("file.not-gzip", f"{self.shown}: is no sound gzip file ({error}).") from error
                if content and stream.tell() > LARGEST_UNPACKED_BYTES:
                    raise FileRefused("file.too-large", f"{self.shown}: unpacks to an absurd size; that is no log.")
                try:
                    text = decoder.decode(content, final=not content)
                except UnicodeDecodeError as error:
                    line = lines_before + content[: error.start].count(b"\n") + 1
                    raise FileRefused(
                        "file.encoding",
                        f"{self.shown}, line {line}: a byte is not {self.read.encoding} text ({error.reason}); "
                        "name the right encoding in the source map.",
                    ) from error
                if "\0" in text:
                    line = lines_before + text[: text.index("\0")].count("\n") + 1
                    raise FileRefused(
                        "file.not-text", f"{self.shown}, line {line}: holds a NUL character, so it is no text export."
                    )
                if text:
                    yield text
                if not content:
                    return
                lines_before += text.count("\n")

    def _codec(self) -> str:
        return "utf-8-sig" if self.read.encoding == "utf-8" else self.read.encoding

    def _open(self) -> BinaryIO:
        with self.path.open("rb") as stream:
            is_gzip = stream.read(2) == b"\x1f\x8b"
        return gzip.open(self.path, "rb") if is_gzip else self.path.open("rb")  # type: ignore[return-value]


def _cut(text: str) -> tuple[str, str]:
    """Whole rows, and the rest: cut at the last line end outside quotes."""
    end = len(text)
    while (end := text.rfind("\n", 0, end)) >= 0:
        if text.count('"', 0, end) % 2 == 0:
            return text[: end + 1], text[end + 1 :]
    return "", text

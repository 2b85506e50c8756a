"""Quotes in delimited text, read as Python's csv module reads them: a quote opens a cell only where the cell begins."""

import numpy as np
from numpy.typing import NDArray

QUOTE, LINE_END = ord('"'), ord("\n")


def cut(before: bytes, part: bytes, separator: str) -> tuple[bytes, bytes]:
    """Whole rows of two pieces of text, and the rest: cut at the last line end outside quoted cells.

    >>> cut(b'1,valve 1/2" op', b'ened\\n2,"a\\n', ",")
    (b'1,valve 1/2" opened\\n', b'2,"a\\n')
    """
    if b'"' not in before and b'"' not in part:
        end = part.rfind(b"\n") + 1
        return (b"".join((before, memoryview(part)[:end])), part[end:]) if end else (b"", before + part)
    text = before + part
    quotes = _counting(text, separator)
    end = text.rfind(b"\n")
    while end >= 0 and (count := int(np.searchsorted(quotes, end))) % 2:
        end = text.rfind(b"\n", 0, int(quotes[count - 1]))
    return text[: end + 1], text[end + 1 :]


def are_regular(block: bytes, separator: str) -> bool:
    """Whether each quote of whole rows encloses a whole cell or is doubled in one: no reader can differ on such."""
    if b'"' not in block:
        return True
    text = np.frombuffer(block, np.uint8)
    quotes = np.flatnonzero(text == QUOTE)
    if len(quotes) % 2 or not _alternate(text, quotes, separator):
        return False
    closing = quotes[1:-1:2] if block.endswith(b'"') else quotes[1::2]
    return bool(_is_edge(text[closing + 1], separator).all())


def _counting(block: bytes, separator: str) -> NDArray[np.int64]:
    """Where the quotes stand that open, double or close; after an even number of them the text is outside of cells."""
    text = np.frombuffer(block, np.uint8)
    quotes = np.flatnonzero(text == QUOTE)
    if _alternate(text, quotes, separator):
        return quotes
    counting: list[int] = []
    for at, before in zip(quotes.tolist(), text[quotes - 1].tolist(), strict=True):
        may_open = at == 0 or before in (LINE_END, ord(separator))
        is_doubled = bool(counting) and counting[-1] == at - 1
        if len(counting) % 2 or may_open or is_doubled:
            counting.append(at)
    return np.array(counting, np.int64)


def _alternate(text: NDArray[np.uint8], quotes: NDArray[np.int64], separator: str) -> bool:
    """Whether every other quote opens a cell or is the second of a pair, so that none stands within a plain cell."""
    opening = quotes[2::2] if quotes[0] == 0 else quotes[::2]
    return bool(_is_edge(text[opening - 1], separator).all())


def _is_edge(beside: NDArray[np.uint8], separator: str) -> NDArray[np.bool_]:
    """Whether what stands beside a quote is the edge of its cell, or the other quote of a pair."""
    is_edge: NDArray[np.bool_] = (beside == LINE_END) | (beside == ord(separator)) | (beside == QUOTE)
    return is_edge

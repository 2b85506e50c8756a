"""WeasyPrint, imported in less time: of a cold document half a second went into looking for its libraries.

It asks for each library by names of other systems first, and for each of these Python's `find_library` starts a
compiler and a linker. On Linux the names that it asks for last are those that the loader knows at once, so the search
is left out while it is imported. Modules of ours take WeasyPrint from here.
"""

import ctypes.util
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any


@contextmanager
def _without_search() -> Iterator[None]:
    search: Any = ctypes.util.find_library
    if sys.platform == "linux":
        ctypes.util.find_library = lambda name: None
    try:
        yield
    finally:
        ctypes.util.find_library = search


try:
    with _without_search():
        from weasyprint import CSS, HTML, Attachment, svg
except OSError:  # libraries that the loader does not find by name
    from weasyprint import CSS, HTML, Attachment, svg
from weasyprint.css.properties import INITIAL_VALUES  # noqa: E402 - the search comes back first
from weasyprint.draw.text import draw_first_line  # noqa: E402
from weasyprint.matrix import Matrix  # noqa: E402
from weasyprint.svg.text import Style, TextBox  # noqa: E402
from weasyprint.text.ffi import pango  # noqa: E402
from weasyprint.text.fonts import FontConfiguration  # noqa: E402
from weasyprint.text.line_break import create_layout, line_size  # noqa: E402
from weasyprint.urls import URLFetcher, URLFetcherResponse  # noqa: E402

__all__ = [
    "CSS", "HTML", "INITIAL_VALUES", "Attachment", "FontConfiguration", "Matrix", "Style", "TextBox", "URLFetcher",
    "URLFetcherResponse", "create_layout", "draw_first_line", "line_size", "pango",
    "svg",
]  # fmt: skip

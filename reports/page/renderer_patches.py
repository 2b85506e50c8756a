"""All that is changed in the process for WeasyPrint's sake, each for as long as it is needed and then put back.

There is no parameter for any of it, and the work is WeasyPrint's own, so that it cannot be done in a subclass.
"""

import ctypes.util
import gc
import os
import sys
import warnings
from collections.abc import Iterator, Mapping
from contextlib import ExitStack, contextmanager
from typing import Any

_EPOCH = "SOURCE_DATE_EPOCH"  # what font tools write into the faces instead of the time of day


@contextmanager
def without_library_search() -> Iterator[None]:
    """While WeasyPrint is imported: `find_library` finds nothing.

    It asks for each library by names of other systems first, and for each of these Python's `find_library` starts a
    compiler and a linker. On Linux the names that it asks for last are those that the loader knows at once.

    Measured on a dossier of the sample distillery (best of three, alternately in one run): with the search 1.18 times
    the processor's time, and 1.9 times the waiting.
    """
    search: Any = ctypes.util.find_library
    if sys.platform == "linux":
        ctypes.util.find_library = lambda name: None
    try:
        yield
    finally:
        ctypes.util.find_library = search


@contextmanager
def for_a_document(tags: dict[str, Any], own: Mapping[str, Any]) -> Iterator[None]:
    """While a document is made: our own drawing of these tags of SVG, faces without the time of day, no collector.

    Parameters
    ----------
    tags : dict
        WeasyPrint's table of what draws which tag.
    own : mapping
        What draws some of them quicker, see `svg_fast_path`.
    """
    with ExitStack() as undone:
        undone.enter_context(_drawing(tags, own))
        undone.enter_context(_fixed_epoch())
        undone.enter_context(_not_collecting())
        undone.enter_context(warnings.catch_warnings())
        # WeasyPrint leaves the file of its colour profile for the interpreter to close.
        warnings.filterwarnings("ignore", "unclosed file", ResourceWarning)
        yield


@contextmanager
def _drawing(tags: dict[str, Any], own: Mapping[str, Any]) -> Iterator[None]:
    """Our functions in the table that WeasyPrint draws SVG by.

    Measured likewise: without them a dossier takes 1.03 times the processor's time and the trends 1.05 times; and words
    would be laid out letter by letter, otherwise than in the rest of the page.
    """
    before = {name: tags[name] for name in own}
    tags |= own
    try:
        yield
    finally:
        tags |= before


@contextmanager
def _not_collecting() -> Iterator[None]:
    """Python's cycle collector at rest: a page's boxes all live to the end of the document.

    Measured likewise: with the collector at work 1.15 times the processor's time for a dossier, 1.13 for the trends.
    """
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()


@contextmanager
def _fixed_epoch() -> Iterator[None]:
    """A time for the faces that is always the same, or no two documents would be: fontTools reads it from there alone
    (https://reproducible-builds.org/specs/source-date-epoch/), and WeasyPrint hands it no other."""
    before = os.environ.get(_EPOCH)
    os.environ[_EPOCH] = "0"
    try:
        yield
    finally:
        if before is None:
            del os.environ[_EPOCH]
        else:
            os.environ[_EPOCH] = before

"""A module that takes long to import, imported beside work that waits for the database."""

from collections.abc import Iterator
from contextlib import contextmanager, suppress
from importlib import import_module
from threading import Thread


@contextmanager
def import_beside(module: str, *, wanted: bool = True) -> Iterator[None]:
    """Import a module while the block runs, where it is wanted; when the block is left the import is over.

    An import that fails is not told here: whoever needs the module imports it again, and is told.

    Of the import of Great Expectations, the longest part of a small check, this hides the reading of the book behind it
    where a processor is idle; it costs 1.04 times the processor time (sample distillery, best of four, alternately in
    one run). On a machine with none idle it gains nothing.

    Parameters
    ----------
    module : str
        Full name of the module.
    wanted : bool
        False where the block will need none of it.

    Examples
    --------
    >>> import sys
    >>> with import_beside("colorsys"):
    ...     pass
    >>> "colorsys" in sys.modules
    True
    """
    importing = Thread(target=_import, args=(module,))
    if wanted:
        importing.start()
    try:
        yield
    finally:
        if wanted:
            importing.join()


def _import(module: str) -> None:
    with suppress(Exception):
        import_module(module)

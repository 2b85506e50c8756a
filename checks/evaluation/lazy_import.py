"""A module put off while others are imported that only may need it.

Great Expectations imports scipy.stats for expectations that no rule uses. Measured on the sample distillery (processor
time of a first `check`, best of four, alternately in one run): with it loaded 1.13 times what it takes without. There
is no parameter for it, so a placeholder stands in sys.modules while Great Expectations is imported, and no longer.
"""

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from importlib import import_module
from types import ModuleType
from typing import Any


class _PutOff(ModuleType):
    """Stands for a module until somebody looks into it; whoever holds it then reaches the module itself."""

    def __getattr__(self, name: str) -> Any:
        _give_way(self)
        return getattr(import_module(self.__name__), name)


@contextmanager
def put_off(name: str) -> Iterator[None]:
    """Let imports of this module within the block bring in a placeholder; afterwards nothing stands in its place.

    Nothing happens where the module is loaded already.

    Parameters
    ----------
    name : str
        Full name of a module whose package does not import it.

    Examples
    --------
    >>> sys.modules.pop("json.tool", None) and None
    >>> with put_off("json.tool"):
    ...     import json.tool as tool
    >>> "json.tool" in sys.modules
    False
    >>> callable(tool.main), "json.tool" in sys.modules
    (True, True)
    """
    if name in sys.modules:
        yield
        return
    placeholder = _PutOff(name)
    sys.modules[name] = placeholder
    try:
        yield
    finally:
        _give_way(placeholder)


def _give_way(placeholder: ModuleType) -> None:
    if sys.modules.get(placeholder.__name__) is placeholder:
        del sys.modules[placeholder.__name__]

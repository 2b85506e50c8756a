"""Modules put off until they are first used."""

import sys
from importlib import import_module
from importlib.util import LazyLoader, find_spec, module_from_spec


def lazy_import(package: str, name: str) -> None:
    """Let package.name be loaded by the first look into it; nothing happens where it is loaded already.

    Great Expectations imports scipy.stats for expectations that the rule book does not use: a quarter of its import.

    Examples
    --------
    >>> lazy_import("json", "tool")
    >>> import json.tool
    >>> callable(json.tool.main)
    True
    """
    whole = f"{package}.{name}"
    if whole in sys.modules:
        return
    above = import_module(package)
    spec = find_spec(whole)
    if spec is None or spec.loader is None:
        return
    spec.loader = LazyLoader(spec.loader)
    module = module_from_spec(spec)
    sys.modules[whole] = module
    spec.loader.exec_module(module)
    setattr(above, name, module)


def lazy_import_for_scipy() -> None:
    """Put off what `scipy.special` takes in with all names of numpy and never uses: a third of its import."""
    for name in ("f2py", "testing"):
        lazy_import("numpy", name)

"""Two values of any depth compared leaf by leaf: records, lists, tables, numbers, times and texts."""

import dataclasses
from collections.abc import Callable, Iterator
from datetime import datetime
from enum import Enum
from typing import Any

import numpy as np
import polars as pl

# Eight digits behind the mark leave half of 1e-8 of a told unit: with its factor (a gallon is 3.8 L, an inch of mercury
# 34 mbar) and where nearly equal numbers are subtracted (losses, z, deviations) that may grow to 1e-6, of the number
# or of its unit. The least uncertainty of any quantity here is 1e-3 of its unit.
TOLERANCE = 1e-6
SECONDS = 0.01  # of times that are interpolated between the rows of a log


def is_close(first: Any, second: Any) -> bool:
    """Whether two numbers or times agree to the rounding of the telling."""
    if isinstance(first, datetime) and isinstance(second, datetime):
        return abs((first - second).total_seconds()) <= SECONDS
    if first is None or second is None:
        return first is second
    first_number, other = float(first), float(second)
    return abs(first_number - other) <= TOLERANCE * max(1.0, abs(first_number), abs(other)) or (
        np.isnan(first_number) and np.isnan(other)
    )


def unlike(first: Any, second: Any, worded: Callable[[str], str], at: str = "") -> Iterator[str]:
    """Each leaf in which the two differ, with its place; `worded` turns texts of the second into the first's words."""
    first, second = _plain(first), _plain(second)
    if isinstance(first, dict) and isinstance(second, dict):
        theirs = {worded(key) if isinstance(key, str) else key: value for key, value in second.items()}
        for key in first.keys() | theirs.keys():
            if key in first and key in theirs:
                yield from unlike(first[key], theirs[key], worded, f"{at}.{key}")
            else:
                yield f"{at}.{key}: only in one of the two"
    elif isinstance(first, list) and isinstance(second, list):
        if len(first) != len(second):
            yield f"{at}: {len(first)} against {len(second)}: {first!r:.300} / {second!r:.300}"
        for number, (item, other) in enumerate(zip(first, second, strict=False)):
            yield from unlike(item, other, worded, f"{at}[{number}]")
    elif isinstance(first, float | datetime) or isinstance(second, float | datetime):
        if not is_close(first, second):
            yield f"{at}: {first!r} against {second!r}"
    elif first != (worded(second) if isinstance(second, str) else second):
        yield f"{at}: {first!r} against {second!r}"


def _plain(value: Any) -> Any:
    """Records as dictionaries, tables and arrays as lists, sets in order."""
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {item.name: getattr(value, item.name) for item in dataclasses.fields(value)}
    if isinstance(value, pl.DataFrame):
        return value.to_dicts()
    if isinstance(value, np.ndarray | pl.Series):
        return value.tolist() if isinstance(value, np.ndarray) else value.to_list()
    if isinstance(value, np.generic):
        return value.item()
    if isinstance(value, set | frozenset):
        return sorted(value, key=str)
    if isinstance(value, Enum):
        return value.value
    return list(value) if isinstance(value, tuple) else value

"""A line of a printed table as a pattern over the text of its page."""

import re


def as_line(cells: str) -> re.Pattern[str]:
    """A pattern of a line with these cells."""
    return re.compile(r"\s+".join(re.escape(one).replace(r"\ ", r"\s+") for one in cells.split(" | ")))

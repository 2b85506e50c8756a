"""The drawings of a page taken out of its HTML and handed in as images.

A parser of HTML and the cascade of styles look at every mark of a drawing that stands in the page; as images drawings
are read by an XML parser in a fraction of the time, and equal ones (signs in the text) once. A page looks the same.
"""

import re
from html import unescape

from markupsafe import escape

_DRAWING = re.compile(r"<svg[ >].*?</svg>", re.DOTALL)  # text from files is escaped, so none of it is taken for one
_TITLE = re.compile(r"<title>(.*?)</title>", re.DOTALL)


def taken_out(page: str, address: str) -> tuple[str, dict[str, bytes]]:
    """The page with an image in place of each drawing, its title as the image's alternative text; and the drawings as
    SVG by address, which is `address` and a number."""
    addresses: dict[str, str] = {}

    def image(match: re.Match[str]) -> str:
        drawing = match[0]
        at = addresses.setdefault(drawing, f"{address}{len(addresses)}")
        title = _TITLE.search(drawing)
        return f'<img src="{at}" alt="{escape(unescape(title[1])) if title else ""}">'

    without = _DRAWING.sub(image, page)
    return without, {at: drawing.encode() for drawing, at in addresses.items()}

"""Words in drawings, set whole: WeasyPrint lays out each letter of an SVG text by itself, in a group of its own.

That was a quarter of the time for the trends. Our drawings know only plain words (`drawing.py`): a place, a size, a
weight and an anchor, so that one layout a text will do; words are kerned as in the rest of the page.
"""

from functools import cache
from typing import Any

from reports.page.renderer import INITIAL_VALUES, Matrix, Style, TextBox, create_layout, draw_first_line, line_size, svg

_BEFORE = {"start": 0.0, "middle": 0.5, "end": 1.0}  # part of the width that lies before the anchor


def set_words_whole() -> None:
    """From now on SVG texts are drawn by this module."""
    svg.TAGS["text"] = _draw


def _draw(drawing: Any, node: Any, font_size: float) -> None:
    if not node.text or not node.text.strip():
        return
    style = Style(_initial())
    style.font_config = drawing.font_config
    style["font_family"] = [node.get("font-family", "sans-serif")]
    style["font_weight"] = int(node.get("font-weight", 400))
    style["font_size"] = font_size
    layout = create_layout(node.text, style, drawing.context, None, 0)
    line, _ = layout.get_first_line()
    width, _ = line_size(line, style)
    left = float(node.get("x", 0)) - width * _BEFORE[node.get("text-anchor", "start")]
    base_line = Matrix(d=-1, e=left, f=float(node.get("y", 0)))
    fill, stroke = drawing.set_graphical_state(node, font_size)
    drawing.stream.begin_text()
    drawing.fill_stroke(fill, stroke, text=True)
    draw_first_line(drawing.stream, TextBox(layout, style), "none", "none", base_line)
    drawing.stream.end_text()


@cache
def _initial() -> dict[str, Any]:
    return dict(INITIAL_VALUES)

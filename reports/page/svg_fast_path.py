"""Words and lines of drawings, set quickly: WeasyPrint lays out each letter of an SVG text by itself, in a group of its
own, and reads the numbers of each path one by one.

That was a third of the time for the trends. Our drawings know only plain words (`drawing.py`): a place, a size, a
weight and an anchor, so that one layout a text will do; words are kerned as in the rest of the page. Their lines are
nearly all of absolute commands, which are those of PDF in another order; any other path is left to WeasyPrint.
"""

import re
from functools import cache
from typing import Any

from gaugebook.reports.page.renderer import (
    INITIAL_VALUES,
    Matrix,
    Style,
    TextBox,
    create_layout,
    draw_first_line,
    line_size,
    path,
)

_BEFORE = {"start": 0.0, "middle": 0.5, "end": 1.0}  # part of the width that lies before the anchor
_NUMBER = r"-?\d+(?:\.\d+)?"
_COMMAND = rf"[ML]{_NUMBER},{_NUMBER}|[HV]{_NUMBER}|C{_NUMBER}(?:,{_NUMBER}){{5}}|Z|h0"
_COMMANDS, _PLAIN = re.compile(_COMMAND), re.compile(f"(?:{_COMMAND})*")
_OPERATORS = {"M": "m", "C": "c"}  # all others draw a straight line


def _draw_path(drawing: Any, node: Any, font_size: float) -> None:
    commands = node.get("d", "")
    if not _PLAIN.fullmatch(commands):
        path(drawing, node, font_size)
        return
    operators, x, y = [], "0", "0"
    for command in _COMMANDS.findall(commands):
        letter, numbers = command[0], command[1:].split(",")
        if letter == "Z":
            operators.append("h")
            continue
        if letter == "H":
            x = numbers[0]
        elif letter == "V":
            y = numbers[0]
        elif letter != "h":  # h0 is a line to where the pen is: a dot where ends are round
            x, y = numbers[-2:]
        before = numbers[:-2] if letter == "C" else []
        operators.append(" ".join([*before, x, y, _OPERATORS.get(letter, "l")]))
    drawing.stream.stream.append("\n".join(operators).encode())


def _draw_words(drawing: Any, node: Any, font_size: float) -> None:
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


# SVG texts and paths are drawn by these while a document is made, see `renderer_patches`.
QUICK_TAGS = {"text": _draw_words, "path": _draw_path}

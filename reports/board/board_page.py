"""The board as one page that needs nothing else: styles, scripts, faces and data inside it, and nothing to fetch.

A content security policy names the one script and the one style sheet by their hash and forbids everything else, so
text from the book could do nothing even if it were read as code; and it is not, being escaped.
"""

import base64
import hashlib
import io
import json
import re
from pathlib import Path
from typing import Any

from fontTools.subset import Options, Subsetter
from fontTools.ttLib import TTFont
from markupsafe import Markup

from gaugebook.reports.board.board import Board
from gaugebook.reports.board.board_data import board_data
from gaugebook.reports.board.board_warehouse import drawn
from gaugebook.reports.board.work_in_progress import work_in_progress
from gaugebook.reports.page import fonts, pages
from gaugebook.reports.page.provenance import rule_files_sha256, software_version

PARTS = Path(__file__).parent / "board_parts"
MODULES = (
    "scale.js", "draw.js", "plot.js", "trends.js", "curve.js", "lists.js", "shelf.js", "details.js",
    "warehouse.js", "main.js",
)  # fmt: skip
_IMPORT = re.compile(r'^import \{(.*?)\} from "\./(.*?)";$', re.MULTILINE)
_EXPORT = re.compile(r"^export (?:function|const) (\w+)", re.MULTILINE)
# What stands in their place until the words of the page, and with them its faces, are known.
_STYLE, _POLICY = Markup("/* style */"), Markup("policy of this page")
_FACES = {"sans": "Source Sans 3", "serif": "Source Serif 4"}


def board_html(board: Board) -> str:
    """The whole page."""
    data = board_data(board)
    code = Markup(f"\n{script()}")
    page = pages.html(
        "board.html.jinja", board.house.time_zone, style=_STYLE, policy=_POLICY, script=code, data=data,
        hand=work_in_progress(data), json=embedded(drawn(data)),
        software=software_version(), rule_book=rule_files_sha256(),
    )  # fmt: skip
    style = f"\n{_faces(page)}{(PARTS / 'board.css').read_text(encoding='utf-8')}"
    policy = (
        f"default-src 'none'; script-src '{_hash(code)}'; style-src '{_hash(style)}'; font-src data:; "
        "img-src data:; base-uri 'none'; form-action 'none'"
    )
    return page.replace(_POLICY, policy, 1).replace(_STYLE, style, 1)


def script(modules: tuple[str, ...] = MODULES) -> str:
    """The modules as one script, each in a scope of its own: what one exports, those after it import."""
    return '"use strict";\nconst modules = {};\n' + "\n".join(_scoped(name) for name in modules)


def _scoped(name: str) -> str:
    text = (PARTS / name).read_text(encoding="utf-8")
    exported = ", ".join(_EXPORT.findall(text))
    inner = _IMPORT.sub(
        r'const {\1} = modules["\2"];', _EXPORT.sub(lambda match: match[0].removeprefix("export "), text)
    )
    return f'modules["{name}"] = (() => {{\n{inner}return {{ {exported} }};\n}})();\n'


def embedded(data: Any) -> Markup:
    """JSON that may stand inside a page: no character of it can end the script element or a line of it."""
    text = json.dumps(data, separators=(",", ":"), ensure_ascii=True, allow_nan=False)
    return Markup(text.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026"))


def _hash(text: str) -> str:
    return f"sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}"


def _faces(words: str) -> str:
    """The documents' faces with the characters of this page alone, so that it looks the same everywhere."""
    used = {ord(character) for character in set(words)} | set(range(0x20, 0x7F)) | {0x2212, 0xB1, 0xD7}
    rules = []
    for name, family in _FACES.items():
        options = Options()
        options.hinting, options.name_IDs, options.layout_features = False, [], ["tnum", "lnum", "liga"]
        options.drop_tables += ["GPOS", "STAT"]  # kerning: nine tenths of the time that cutting takes
        cutter = Subsetter(options)
        cutter.populate(unicodes=used)
        with TTFont(fonts.FILES[name], recalcTimestamp=False, lazy=True) as face:
            cutter.subset(face)
            face.flavor = "woff"
            face.save(out := io.BytesIO())
        source = base64.b64encode(out.getvalue()).decode()
        rules.append(
            f'@font-face {{ font-family: "{family}"; font-weight: 300 700; '
            f'src: url("data:font/woff;base64,{source}") format("woff"); }}\n'
        )
    return "".join(rules)

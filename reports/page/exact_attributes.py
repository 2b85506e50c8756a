"""What a template puts into an attribute stands there exactly, escaped and in no other way changed.

Between tags a text is respelled to be fit to print. In an address or a name that a script looks up the same would lead
elsewhere without a word, so it is kept out of attributes while a template is compiled: no template has to remember it.
"""

import re
from collections.abc import Iterable, Iterator
from typing import Any

from jinja2 import Environment, TemplateSyntaxError
from jinja2.ext import Extension
from jinja2.lexer import Token, TokenStream
from markupsafe import Markup, escape

_STEP = re.compile(r"<!--.*?-->|<(?=[A-Za-z/!])|[>\"']", re.DOTALL)


class ExactAttributes(Extension):
    """Puts the filter `exact` behind every expression that stands in a quoted attribute."""

    def __init__(self, environment: Environment) -> None:
        super().__init__(environment)
        environment.filters["exact"] = exact

    def filter_stream(self, stream: TokenStream) -> Iterable[Token]:
        """The tokens of a template, with what the filter needs put in."""
        return self._tokens(stream)

    def _tokens(self, stream: TokenStream) -> Iterator[Token]:
        inside, is_exact = "", False
        for token in stream:
            if token.type == "data":
                inside = _after(inside, token.value)
            elif token.type == "variable_begin":
                if inside == ">":
                    raise TemplateSyntaxError("in a tag, a value stands in quotes", token.lineno, stream.name)
                is_exact = bool(inside)
                yield token
                if is_exact:
                    yield Token(token.lineno, "lparen", "(")
                continue
            elif token.type == "variable_end" and is_exact:
                yield Token(token.lineno, "rparen", ")")
                yield Token(token.lineno, "pipe", "|")
                yield Token(token.lineno, "name", "exact")
            yield token


def exact(value: Any) -> Markup:
    """The value escaped for an attribute, and not respelled.

    Examples
    --------
    >>> exact("a" * 50 + '"')
    Markup('aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa&#34;')
    """
    return escape(value)


def _after(inside: str, markup: str) -> str:
    """Where a piece of markup ends: "" between tags, ">" in a tag, the quote that is open in an attribute.

    Examples
    --------
    >>> _after("", '<a class="nb" href="#run/'), _after('"', '">'), _after("", "<td"), _after("", "it isn't so")
    ('"', '', '>', '')
    """
    for step in _STEP.finditer(markup):
        mark = step[0]
        if not inside:
            inside = ">" if mark == "<" else ""
        elif inside == ">":
            inside = {">": "", '"': '"', "'": "'"}.get(mark, inside)
        elif mark == inside:
            inside = ">"
    return inside

"""Small faults that are put into code one at a time: which there are in a file of Python or SQL."""

import ast
import re
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

COMPARISONS: dict[type[ast.cmpop], str] = {
    ast.Lt: "<=", ast.LtE: "<", ast.Gt: ">=", ast.GtE: ">", ast.Eq: "!=", ast.NotEq: "==",
    ast.Is: "is not", ast.IsNot: "is", ast.In: "not in", ast.NotIn: "in",
}  # fmt: skip
ARITHMETIC: dict[type[ast.operator], str] = {
    ast.Add: "-", ast.Sub: "+", ast.Mult: "/", ast.Div: "*", ast.Pow: "*", ast.FloorDiv: "/", ast.Mod: "*",
    ast.BitAnd: "|", ast.BitOr: "&",
}  # fmt: skip
# The other side of an order: what `<` means turned round, beside what it means at its limit.
TURNED: dict[type[ast.cmpop], str] = {ast.Lt: ">=", ast.LtE: ">", ast.Gt: "<=", ast.GtE: "<"}
NAMES = {
    "min": "max", "max": "min", "any": "all", "all": "any", "floor": "ceil", "ceil": "floor",
    "minimum": "maximum", "maximum": "minimum", "nanmin": "nanmax", "nanmax": "nanmin",
    "argmin": "argmax", "argmax": "argmin", "median": "mean",
}  # fmt: skip
# Functions whose first arguments may change places.
SYMMETRIC = {
    "min",
    "max",
    "minimum",
    "maximum",
    "hypot",
    "isclose",
    "broadcast_arrays",
    "broadcast_shapes",
    "isdisjoint",
    "with_columns",  # columns go by name
    "agg",
}
SQL: tuple[tuple[str, str], ...] = (
    (r"(?<=\s)<(?=\s)", "<="), (r"(?<=\s)<=(?=\s)", "<"), (r"(?<=\s)>(?=\s)", ">="), (r"(?<=\s)>=(?=\s)", ">"),
    (r"(?<=\s)=(?=\s)", "<>"), (r"(?<=\s)<>(?=\s)", "="), (r"(?<=\s)\+(?=\s)", "-"), (r"(?<=\s)-(?=\s)", "+"),
    (r"(?<=\s)\*(?=\s)", "/"), (r"(?<=\s)/(?=\s)", "*"), (r"\*\*", "*"), (r"\bAND\b(?! CURRENT| UNBOUNDED)", "OR"),
    (r"\bOR\b(?! REPLACE)", "AND"), (r"\bmin\(", "max("), (r"\bmax\(", "min("), (r"\bsum\(", "max("),
    (r"\bcount\(", "max("), (r"\bgreatest\(", "least("), (r"\bleast\(", "greatest("), (r"\bLEFT JOIN\b", "JOIN"),
    (r"\bIS NULL\b", "IS NOT NULL"), (r"\bIS NOT NULL\b", "IS NULL"), (r"\bSEMI JOIN\b", "ANTI JOIN"),
    (r"\bDISTINCT\b ", ""), (r"\bbool_or\(", "bool_and("), (r"\bbool_and\(", "bool_or("), (r"\bDESC\b", "ASC"),
    (r"(?<![\w.'$])\d+(?:\.\d+)?(?![\w.'])", "number"), (r"\bNOT IN\b", "IN"), (r"(?<!NOT )\bIN \(", "NOT IN ("),
)  # fmt: skip
HARMLESS_KEYWORDS = ("strict", "encoding", "newline", "infer_schema_length")
_TYPES = re.compile(r"\b(DECIMAL|CREATE|VARCHAR|DOUBLE|TIMESTAMP|INTEGER|ORDER BY ALL|PARTITION)\b")


@dataclass(frozen=True)
class Mutant:
    """One fault: the characters of a file from `start` to `end` become `text`."""

    file: Path
    line: int
    start: int
    end: int
    before: str
    text: str

    def applied(self, source: str) -> str:
        return source[: self.start] + self.text + source[self.end :]

    def shown(self, source: str) -> str:
        """The line with the fault in it, as a reader of the report finds it.

        >>> source = "a = b + c"
        >>> Mutant(Path("x.py"), 1, 6, 7, "+", "-").shown(source)
        'x.py:1: a = b [+ -> -] c'
        """
        first = source.rfind("\n", 0, self.start) + 1
        last = source.find("\n", self.end)
        rest = source[self.end : last if last >= 0 else None]
        before, text = (" ".join(words.split()) for words in (self.before, self.text))
        return f"{self.file}:{self.line}: {source[first : self.start].lstrip()}[{before} -> {text}]{rest}"


def mutants_of(file: Path, source: str) -> list[Mutant]:
    """Every fault that this module knows of for a file of Python or SQL, in the order of the text."""
    found = _of_sql(file, source) if file.suffix == ".sql" else _of_python(file, source)
    return sorted(set(found), key=lambda mutant: (mutant.start, mutant.text))


def _of_sql(file: Path, source: str) -> Iterator[Mutant]:
    """Words of text and comments stay; so do definitions of tables, whose faults are faults of spelling."""
    plain = re.sub(r"--[^\n]*|'[^'\n]*'", lambda found: "\x00" * len(found[0]), source)
    for pattern, text in SQL:
        for found in re.finditer(pattern, plain):
            line_start = plain.rfind("\n", 0, found.start()) + 1
            line = plain[line_start : (plain.find("\n", found.end()) + 1 or len(plain)) - 1]
            if _TYPES.search(line):
                continue
            new = _other_number(found[0]) if text == "number" else text
            yield Mutant(file, source.count("\n", 0, found.start()) + 1, *found.span(), found[0], new)


def _of_python(file: Path, source: str) -> Iterator[Mutant]:
    lines = [0]
    for line in source.splitlines(keepends=True):
        lines.append(lines[-1] + len(line.encode()))
    encoded = source.encode()

    def at(line: int, column: int) -> int:
        return len(encoded[: lines[line - 1] + column].decode())

    def between(left: ast.AST, right: ast.AST, text: str) -> Iterator[Mutant]:
        """The operator between two expressions."""
        start, end = at(left.end_lineno, left.end_col_offset), at(right.lineno, right.col_offset)  # type: ignore[attr-defined]
        operator = re.search(r"not in|is not|[^\s()]+", source[start:end])
        if operator and "#" not in source[start:end]:
            span = start + operator.start(), start + operator.end()
            yield Mutant(file, source.count("\n", 0, span[0]) + 1, *span, operator[0], text)

    def span(node: ast.expr | ast.stmt) -> tuple[int, int]:
        return at(node.lineno, node.col_offset), at(node.end_lineno, node.end_col_offset)  # type: ignore[arg-type]

    def whole(node: ast.expr | ast.stmt, text: str) -> Iterator[Mutant]:
        start, end = span(node)
        yield Mutant(file, node.lineno, start, end, source[start:end], text)

    def swapped(nodes: list[ast.expr]) -> Iterator[Mutant]:
        """Neighbours in each other's place; words of text stay."""
        for left, right in pairwise(nodes):
            (a, b), (c, d) = span(left), span(right)
            plain = not any(
                isinstance(node, ast.Starred) or (isinstance(node, ast.Constant) and isinstance(node.value, str))
                for node in (left, right)
            )
            if plain and ast.dump(left) != ast.dump(right) and "#" not in source[b:c]:
                yield Mutant(file, left.lineno, a, d, source[a:d], source[c:d] + source[b:c] + source[a:b])

    for node in _code(ast.parse(source)):
        match node:
            case ast.Compare(left, ops, comparators):
                for first, op, second in zip([left, *comparators[:-1]], ops, comparators, strict=True):
                    yield from between(first, second, COMPARISONS[type(op)])
                    if type(op) in TURNED:
                        yield from between(first, second, TURNED[type(op)])
            case ast.BinOp(left, op, right) if type(op) in ARITHMETIC:
                if not isinstance(left, ast.Constant) or not isinstance(left.value, str):
                    yield from between(left, right, ARITHMETIC[type(op)])
            case ast.AugAssign(target, op, value):
                yield from whole(node, "pass")
                if type(op) in ARITHMETIC:
                    yield from between(target, value, ARITHMETIC[type(op)] + "=")
            case ast.BoolOp(op, values):
                for first, second in pairwise(values):
                    yield from between(first, second, "or" if isinstance(op, ast.And) else "and")
            case ast.UnaryOp(ast.Not() | ast.Invert(), operand):
                yield from whole(node, ast.unparse(operand))
            case ast.UnaryOp(ast.USub(), operand):
                yield from whole(node, ast.unparse(operand))
            case ast.Constant(bool() as value):
                yield from whole(node, str(not value))
            case ast.Constant(int() | float()):
                yield from whole(node, _other_number(ast.unparse(node)))
            case ast.Call(called, arguments, keywords):
                name = called.attr if isinstance(called, ast.Attribute) else getattr(called, "id", "")
                if name in NAMES:
                    end = span(called)[1]
                    yield Mutant(file, called.end_lineno, end - len(name), end, name, NAMES[name])  # type: ignore[arg-type]
                if name not in SYMMETRIC:
                    yield from swapped(arguments)
                yield from swapped([keyword.value for keyword in keywords if keyword.arg not in HARMLESS_KEYWORDS])
            case ast.Return(ast.Tuple(elements)):
                yield from swapped(elements)
            case ast.IfExp(test) | ast.If(test):
                if not isinstance(test, ast.UnaryOp) and not _is_other_way_in_one(test):
                    yield from whole(test, f"not ({ast.unparse(test)})")
            case ast.Raise() | ast.Continue() | ast.Break() | ast.Expr(ast.Call()):
                yield from whole(node, "pass")


def _is_other_way_in_one(test: ast.expr) -> bool:
    """A comparison whose operator turned is the same fault as its negation."""
    return isinstance(test, ast.Compare) and len(test.ops) == 1


def _code(tree: ast.Module) -> Iterator[ast.AST]:
    """The nodes of what is run: no annotations, no docstrings, no decorators, no formats within texts."""
    waiting: list[ast.AST] = [tree]
    while waiting:
        node = waiting.pop()
        yield node
        for name, value in ast.iter_fields(node):
            if name in ("annotation", "returns", "decorator_list", "format_spec", "type_params"):
                continue
            if isinstance(node, ast.Call) and name == "keywords":
                value = [keyword for keyword in value if keyword.arg not in HARMLESS_KEYWORDS]
            waiting += [item for item in (value if isinstance(value, list) else [value]) if isinstance(item, ast.AST)]


def _other_number(text: str) -> str:
    """A number that is clearly another.

    >>> _other_number("1"), _other_number("0.5"), _other_number("0.0")
    ('2', '0.75', '1.0')
    """
    value = float(text)
    if "." in text or "e" in text:
        return repr(value * 1.5) if value else "1.0"
    return str(int(value) + 1)

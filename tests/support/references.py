"""What stands in the three packages and who there refers to it, read from the source without running it."""

import ast
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parents[2]
PACKAGES = ("pipeline", "checks", "reports")
Definition = ast.FunctionDef | ast.ClassDef


@dataclass(frozen=True)
class Module:
    """A module by the name under which it is imported, such as "pipeline.errors", with its parsed source."""

    name: str
    tree: ast.Module

    def public(self) -> Iterator[Definition]:
        """Functions and classes that it defines for others."""
        for node in self.tree.body:
            if isinstance(node, Definition) and not node.name.startswith("_"):
                yield node

    def imported(self) -> Iterator[tuple[str, str | None]]:
        """Our modules that it imports, each with the name taken from it, None for the whole module."""
        for node in ast.walk(self.tree):
            if isinstance(node, ast.Import):
                yield from ((_ours(item.name), None) for item in node.names if item.name.startswith("gaugebook."))
            elif isinstance(node, ast.ImportFrom) and (node.module or "").startswith("gaugebook"):
                yield from ((_ours(node.module or ""), item.name) for item in node.names)


def modules(root: Path = ROOT) -> list[Module]:
    """Every module of the three packages."""
    return [
        Module(_name(path.relative_to(root)), ast.parse(path.read_text(encoding="utf-8")))
        for package in PACKAGES
        for path in sorted((root / package).rglob("*.py"))
    ]


def words_of_texts(root: Path = ROOT) -> set[str]:
    """Words of what is no Python but names it: templates, and the command line's table of commands."""
    texts = [path.read_text(encoding="utf-8") for path in (root / "reports").rglob("*.jinja")]
    cli = (root / "reports" / "cli.py").read_text(encoding="utf-8")
    commands = [f"{name.replace('-', '_')}_command" for name in re.findall(r'^    "([\w-]+)": \(', cli, re.MULTILINE)]
    return set(commands).union(*(re.findall(r"\w+", text) for text in texts))


def unused(all_modules: list[Module], texts: set[str]) -> set[str]:
    """Public functions and classes that nothing in the packages refers to outside themselves, as "module.name".

    Of a module that is imported whole, whatever attribute of its name is asked for anywhere counts as referred to.
    """
    taken = {pair for item in all_modules for pair in item.imported()}
    whole = {module if name is None else f"{module}.{name}" for module, name in taken}
    attributes = {
        node.attr for item in all_modules for node in ast.walk(item.tree) if isinstance(node, ast.Attribute)
    }  # fmt: skip
    return {
        f"{module.name}.{node.name}"
        for module in all_modules
        for node in module.public()
        if (module.name, node.name) not in taken
        and not (module.name in whole and node.name in attributes)
        and node.name not in texts
        and not _is_registered(node)
        and not _within(module.tree, node)
    }


def never_imported(all_modules: list[Module], texts: str) -> set[str]:
    """Modules that hold something and that no other one imports, nor the command line's table names."""
    taken = {pair for item in all_modules for pair in item.imported()}
    known = {module for module, _ in taken} | {f"{module}.{name}" for module, name in taken}
    known |= set(re.findall(r'\("([\w.]+)", "', texts))
    return {module.name for module in all_modules if any(module.public())} - known


def _is_registered(node: Definition) -> bool:
    """Whether a decorator hands it to somebody who calls it: a command of a group of commands."""
    calls = [item.func for item in node.decorator_list if isinstance(item, ast.Call)]
    return any(isinstance(call, ast.Attribute) and call.attr == "command" and _named(call) != "click" for call in calls)


def _named(call: ast.Attribute) -> str:
    return call.value.id if isinstance(call.value, ast.Name) else ""


def _within(tree: ast.Module, definition: Definition) -> bool:
    """Whether the module itself refers to what it defines, outside of it."""
    own = set(map(id, ast.walk(definition)))
    return any(
        (isinstance(node, ast.Name) and node.id == definition.name and id(node) not in own)
        or (isinstance(node, ast.Constant) and node.value == definition.name and id(node) not in own)
        for node in ast.walk(tree)
    )  # fmt: skip


def _ours(name: str) -> str:
    return name.removeprefix("gaugebook").removeprefix(".")


def _name(path: Path) -> str:
    return ".".join(path.with_suffix("").parts).removesuffix(".__init__")

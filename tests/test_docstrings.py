"""The docstrings of the pure packages are records that an engineer can trust: complete, with units and sources."""

import importlib
import inspect
import pkgutil
import re
from collections.abc import Callable, Iterator

import pytest

import gaugebook.pipeline.engineering
import gaugebook.pipeline.statistics

SECTION = re.compile(r"^(\w[\w ]*)\n-{3,}$", re.MULTILINE)


def public_functions() -> Iterator[tuple[str, Callable[..., object]]]:
    """Every public function that a module of the two packages defines itself."""
    for package in (gaugebook.pipeline.engineering, gaugebook.pipeline.statistics):
        for found in pkgutil.iter_modules(package.__path__, package.__name__ + "."):
            module = importlib.import_module(found.name)
            for name, thing in vars(module).items():
                if inspect.isfunction(thing) and thing.__module__ == module.__name__ and not name.startswith("_"):
                    yield f"{module.__name__.removeprefix('gaugebook.pipeline.')}.{name}", thing


FUNCTIONS = dict(public_functions())


def sections(function: Callable[..., object]) -> dict[str, str]:
    """Sections of a numpydoc docstring by their titles."""
    parts = SECTION.split(inspect.getdoc(function) or "")
    return {title.strip(): text for title, text in zip(parts[1::2], parts[2::2], strict=True)}


def documented_parameters(function: Callable[..., object]) -> dict[str, str]:
    """Description of each documented parameter, in order."""
    text = sections(function).get("Parameters", "")
    entries = re.split(r"^(\S[^\n]*?) : [^\n]*$", text.strip("\n"), flags=re.MULTILINE)
    described: dict[str, str] = {}
    for names, description in zip(entries[1::2], entries[2::2], strict=True):
        described.update({name.strip().lstrip("*"): description for name in names.split(",")})
    return described


def test_there_is_something_to_check() -> None:
    """The packages were found: an empty list would pass every other test here."""
    assert len([name for name in FUNCTIONS if name.startswith("engineering.")]) > 60


@pytest.mark.parametrize("name", FUNCTIONS)
def test_documented_parameters_are_the_signature(name: str) -> None:
    """The documented parameters are those of the signature, in its order."""
    assert list(documented_parameters(FUNCTIONS[name])) == list(inspect.signature(FUNCTIONS[name]).parameters)


@pytest.mark.parametrize("name", FUNCTIONS)
def test_each_parameter_has_a_unit(name: str) -> None:
    """Each parameter's description names its unit in square brackets, [-] where it has none."""
    missing = [p for p, text in documented_parameters(FUNCTIONS[name]).items() if not re.search(r"\[[^\]]+\]", text)]

    assert missing == []


@pytest.mark.parametrize("name", FUNCTIONS)
def test_each_function_says_what_it_returns_and_whence_it_comes(name: str) -> None:
    """Each docstring has Returns, Source and Examples with something in them."""
    found = sections(FUNCTIONS[name])

    assert [title for title in ("Returns", "Source", "Examples") if not found.get(title, "").strip()] == []
    assert ">>>" in found["Examples"]


@pytest.mark.parametrize("name", [name for name in FUNCTIONS if name.startswith("engineering.")])
def test_what_an_engineering_function_returns_has_a_unit(name: str) -> None:
    """The description of the result names its unit, too."""
    assert re.search(r"\[[^\]]+\]", sections(FUNCTIONS[name])["Returns"])

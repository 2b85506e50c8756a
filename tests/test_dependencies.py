"""What is imported is declared, what is declared is used, and nothing public stands in the packages for tests alone."""

import ast
import re
import sys
import tomllib
from importlib.metadata import packages_distributions
from pathlib import Path

import pytest
from references import PACKAGES, ROOT, Module, modules, never_imported, unused, words_of_texts

PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
BY_OTHERS = {  # declared, but imported by nobody of ours
    "tzdata": "read by zoneinfo where the machine has no time zones",
    "pandas": "made by polars for Great Expectations",
    "pyarrow": "carries tables from DuckDB to polars, and from there to pandas",
    "mypy": "a program", "ruff": "a program",
    "pytest-cov": "a plugin", "pytest-randomly": "a plugin", "pytest-xdist": "a plugin",
    "import-linter": "asks the contracts in a process of its own",
    "setuptools": "builds the distributions in a process of its own",
}  # fmt: skip
OF_TESTS_ALONE = {
    "pipeline.derived.derivation": {"lineage_lines": "prints the lineage of tables for who works on them"},
    "pipeline.engineering.ethanol_water": {
        "density_in_vacuo": "inverse of density_in_air, which R 111 asks for together",
        "freezing_temperature": "the edge of the liquid, compared with the handbook's table",
        "least_liquid_mass_fraction": "the same edge, the other way round",
        "ipts68_from_its90": "says how far the scale of R 22 lies from today's",
    },
    "pipeline.engineering.gauging": {
        "volume_at_temperature": "inverse of volume_at_20c; a round trip is a law of the tests",
        "volume_from_dip": "one dip of what dips_to_gauge.sql does to all",
    },
    "pipeline.engineering.obscuration": {
        "expected_obscuration_pct_vol": "what true_strength.py does to arrays, for one sample",
        "strength_on_record": "what true_strength.py does to arrays, for one sample",
    },
    "pipeline.engineering.pure_alcohol": {"volume_of_pure_alcohol": "inverse of litres_of_pure_alcohol"},
    "pipeline.engineering.specific_gravity": {"strength_from_specific_gravity": "a table of the handbook, by formula"},
    "pipeline.engineering.uncertainty": {
        "u_alcohol": "worked examples of GUM; the book sums errors by name in SQL",
        "u_ratio": "the same",
        "u_volume_at_20c": "the same",
    },
    "pipeline.engineering.us_gauging": {
        "proof_from_hydrometer": "Table 1 of the U.S. gauging manual, by formula",
        "proof_gallons_from_pounds": "Table 4 of the same",
        "water_in_100_volumes": "Table 6 of the same",
    },
}
MODULES_OF_TESTS_ALONE = {"pipeline.engineering.specific_gravity"}


def declared(lines: list[str]) -> set[str]:
    """Names of the distributions in a list of requirements, as an index writes them."""
    return {_normal(re.split(r"[^\w.-]", line)[0]) for line in lines}


def imported(root: Path, folders: tuple[str, ...]) -> set[str]:
    """Top-level names that the modules of these folders import, without our own and the standard library's."""
    names: set[str] = set()
    own = {"gaugebook", *folders}
    for path in (path for folder in folders for path in (root / folder).rglob("*.py")):
        own |= {path.stem, path.parent.name}
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Import):
                names |= {item.name.split(".")[0] for item in node.names}
            elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
                names.add(node.module.split(".")[0])
    return names - own - set(sys.stdlib_module_names)


def undeclared(names: set[str], known: set[str]) -> set[str]:
    """Imported names that belong to no declared distribution."""
    owners = packages_distributions()
    return {name for name in names if not known & {_normal(owner) for owner in owners.get(name, [])}}


def _normal(name: str) -> str:
    return re.sub(r"[-_.]+", "-", name).lower()


OURS = declared(PROJECT["dependencies"])
FOR_TESTS = declared(PROJECT["optional-dependencies"]["dev"])


def test_what_the_program_imports_is_declared():
    """Each distribution that the packages import stands under dependencies, so none comes only by way of another."""
    names = imported(ROOT, PACKAGES)

    assert len(names) > 15
    assert undeclared(names, OURS) == set()


def test_what_the_tests_import_is_declared():
    """The same for the tests and the generator of the sample, with the development extra."""
    names = imported(ROOT, ("tests", "sample_logs"))

    assert len(names) > 15
    assert undeclared(names, OURS | FOR_TESTS) == set()


def test_what_is_declared_is_imported():
    """No distribution is installed at a user's that nothing of ours needs; what others need is named above."""
    owners = packages_distributions()
    for declared_here, folders in ((OURS, PACKAGES), (FOR_TESTS, ("tests", "sample_logs"))):
        needed = {_normal(owner) for name in imported(ROOT, folders) for owner in owners.get(name, [])}
        assert declared_here - needed - BY_OTHERS.keys() == set()
        assert needed & BY_OTHERS.keys() & declared_here == set()


def test_a_missing_declaration_is_found(tmp_path):
    """An import within a function, of a part of a distribution, is seen; one of the standard library is none."""
    (tmp_path / "pipeline").mkdir()
    (tmp_path / "pipeline" / "a.py").write_text(
        "import os\ndef f():\n    from pyarrow import csv\n    import yaml.no\n"
    )

    assert undeclared(imported(tmp_path, ("pipeline",)), {"pyarrow"}) == {"yaml"}


def test_nothing_public_stands_there_for_tests_alone():
    """Every public function and class is used by the packages themselves, or stands above with its reason."""
    excused = {f"{module}.{name}" for module, names in OF_TESTS_ALONE.items() for name in names}
    everything = modules()
    found = unused(everything, words_of_texts())
    existing = {f"{module.name}.{node.name}" for module in everything for node in module.public()}

    assert len(existing) > 500
    assert found - excused == set()
    assert excused - existing == set(), "gone: no excuse is needed"
    assert excused - found == set(), "used now: no excuse is needed"


def test_no_module_stands_there_for_tests_alone():
    """Every module is imported by another one, or is a command, or stands above."""
    everything = modules()
    cli = (ROOT / "reports" / "cli.py").read_text(encoding="utf-8")

    assert never_imported(everything, cli) - MODULES_OF_TESTS_ALONE <= {"reports.cli"}
    assert {module.name for module in everything} >= MODULES_OF_TESTS_ALONE


@pytest.mark.parametrize(
    ("user", "found"),
    [
        ("from gaugebook.pipeline.a import g", {"pipeline.a.f"}),
        ("from gaugebook.pipeline import a\na.f()", {"pipeline.a.g"}),
        ("import gaugebook.pipeline.a\nx.f, x.g", set()),
        ("f()\ng()", {"pipeline.a.f", "pipeline.a.g"}),
    ],
)
def test_the_search_sees_who_uses_what(user, found):
    """A name counts where it is taken from its module, not where it merely has the same spelling."""
    defined = Module("pipeline.a", ast.parse("def f():\n    f()\ndef g():\n    pass\ndef _h():\n    pass\n"))

    assert unused([defined, Module("pipeline.b", ast.parse(user))], set()) == found

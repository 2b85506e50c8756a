"""What is put off while Great Expectations is imported is nowhere in the process afterwards, and works all the same."""

import subprocess
import sys
import textwrap
import threading

import pytest

from gaugebook.checks.evaluation.import_beside import import_beside
from gaugebook.checks.evaluation.lazy_import import put_off


def in_a_process(script: str) -> None:
    subprocess.run([sys.executable, "-c", textwrap.dedent(script)], check=True)


def test_after_the_expectations_nothing_stands_in_the_place_of_a_module():
    """The import of the expectations loads no scipy.stats, leaves no placeholder in sys.modules, and scipy.stats
    imported afterwards is scipy's own, for Great Expectations too."""
    in_a_process("""
        import sys
        import gaugebook.checks.evaluation.expectations
        assert "scipy.stats" not in sys.modules
        from great_expectations.expectations.core import expect_column_kl_divergence_to_be_less_than as user
        held = user.stats
        import scipy.stats
        assert type(scipy.stats).__name__ == "module" and scipy.stats.__spec__.name == "scipy.stats"
        assert held.norm is scipy.stats.norm
    """)


def test_who_looks_into_it_within_the_block_gets_the_module():
    """A look into what is put off loads it at once, and it stays loaded."""
    in_a_process("""
        import sys
        from gaugebook.checks.evaluation.lazy_import import put_off
        with put_off("json.tool"):
            from json.tool import main
            import json.tool
            assert callable(main) and sys.modules["json.tool"].main is main
        assert sys.modules["json.tool"].main is main
    """)


def test_a_loaded_module_is_left_alone_and_a_fault_undoes_it():
    """What is loaded already stays what it is; where the block fails the placeholder is gone as well."""
    with put_off("textwrap"):
        assert sys.modules["textwrap"] is textwrap
    with pytest.raises(ZeroDivisionError), put_off("json.never_there"):
        assert "json.never_there" in sys.modules
        raise ZeroDivisionError
    assert "json.never_there" not in sys.modules


@pytest.mark.parametrize("module", ["this_module_is_nowhere", "string"])
def test_no_import_outlives_its_block(module):
    """When the block is left, also by an error, no thread is left; an import that fails is not told here."""
    before = set(threading.enumerate())
    with pytest.raises(ZeroDivisionError), import_beside(module):
        raise ZeroDivisionError
    assert set(threading.enumerate()) == before


def test_nothing_is_imported_where_nothing_is_wanted():
    """A block that needs none of the module starts no import."""
    with import_beside("this_module_is_nowhere", wanted=False):
        assert "gaugebook" not in {thread.name for thread in threading.enumerate()}
    assert "this_module_is_nowhere" not in sys.modules

"""A module imported beside other work: in time, only where it is wanted, and without a word where it fails."""

import sys

import pytest

from gaugebook.checks.evaluation.import_beside import import_beside


@pytest.fixture
def module(tmp_path, monkeypatch):
    """Name of a module that takes a tenth of a second to import: module("slow", "x = 1")."""
    monkeypatch.syspath_prepend(tmp_path)

    def write(name, body):
        (tmp_path / f"{name}.py").write_text(f"import time\ntime.sleep(0.1)\n{body}\n", encoding="utf-8")
        monkeypatch.delitem(sys.modules, name, raising=False)
        return name

    return write


def test_when_the_block_is_left_the_import_is_over(module):
    """And not before it was begun: the block runs beside it."""
    name = module("imported_beside_work", "done = True")
    with import_beside(name):
        assert not hasattr(sys.modules.get(name), "done")

    assert sys.modules[name].done


def test_what_is_not_wanted_is_not_imported(module):
    """The block runs all the same."""
    name = module("not_wanted_beside_work", "done = True")
    with import_beside(name, wanted=False):
        pass

    assert name not in sys.modules


def test_an_import_that_fails_is_told_to_whoever_needs_the_module(module):
    """Here nothing is said."""
    name = module("failing_beside_work", "raise RuntimeError('no')")
    with import_beside(name):
        pass

    assert name not in sys.modules


def test_work_that_fails_waits_for_the_import(module):
    """Its own error is told, and the module is there."""
    name = module("imported_beside_failure", "done = True")
    with pytest.raises(ValueError, match="work"), import_beside(name):
        raise ValueError("work")

    assert sys.modules[name].done

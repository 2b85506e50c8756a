"""Whatever is changed in the process for a document is as it was when the document is made, or is not."""

import ctypes.util
import gc
import os
import warnings
from datetime import datetime

import pytest

from gaugebook.reports.page import pages
from gaugebook.reports.page.renderer import path, svg
from gaugebook.reports.page.renderer_patches import for_a_document, without_library_search
from gaugebook.reports.page.svg_fast_path import QUICK_TAGS

DRAWING = '<svg width="9" height="9"><title>a</title><path d="M1,1L5,5"/></svg>'
PAGE = f'<html lang="en"><head><title>t</title></head><body>{DRAWING}</body></html>'


def state():
    """Everything that a document changes in the process."""
    return dict(svg.TAGS), os.environ.get("SOURCE_DATE_EPOCH"), gc.isenabled(), list(warnings.filters)


@pytest.mark.parametrize("epoch", [None, "1700000000"])
def test_a_document_leaves_the_process_as_it_was(monkeypatch, epoch):
    """Tags, environment, collector and warnings are after a document what they were before it."""
    monkeypatch.delenv("SOURCE_DATE_EPOCH", raising=False)
    if epoch:
        monkeypatch.setenv("SOURCE_DATE_EPOCH", epoch)
    before = state()
    pages.pdf(PAGE, datetime(2031, 5, 1))
    assert state() == before
    assert svg.TAGS["path"] is path


def test_a_document_that_fails_does_so_too():
    """An error in the middle undoes all of it, and a collector that was off stays off."""
    before = state()
    with pytest.raises(ZeroDivisionError), for_a_document(svg.TAGS, QUICK_TAGS):
        within = state()
        raise ZeroDivisionError
    assert state() == before
    assert within[0]["path"] is QUICK_TAGS["path"]
    assert within[1:3] == ("0", False)
    gc.disable()
    try:
        with for_a_document(svg.TAGS, QUICK_TAGS):
            pass
        assert not gc.isenabled()
    finally:
        gc.enable()


def test_the_search_for_libraries_comes_back():
    """The search is what it was before, also where the import fails."""
    search = ctypes.util.find_library
    with pytest.raises(OSError), without_library_search():
        raise OSError
    assert ctypes.util.find_library is search

"""A browser for the tests of the board, started once."""

from collections.abc import Iterator

import pytest
from browser import Browser, installed


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """Headless Chromium; without one the tests that need it are skipped and say so."""
    program = installed()
    if program is None:
        pytest.skip("no Chromium on this machine (Debian: apt-get install chromium)")
    started = Browser(program)
    yield started
    started.close()

"""WeasyPrint is imported without starting other programs to look for its libraries."""

import re
import subprocess
import sys
from pathlib import Path

import pytest

from gaugebook import reports

IMPORT = """
import ctypes.util, sys
search, started = ctypes.util.find_library, []
sys.addaudithook(lambda event, found: started.append(found[0]) if event in ("subprocess.Popen", "os.system") else None)
import gaugebook.reports.page.renderer
assert ctypes.util.find_library is search
assert not [name for name in started if "uname" not in str(name)], started
"""


@pytest.mark.skipif(sys.platform != "linux", reason="elsewhere the libraries are searched for")
def test_no_program_is_started():
    """The import starts no compiler, and the search is there again after it."""
    subprocess.run([sys.executable, "-c", IMPORT], check=True)


def test_only_the_renderer_imports_weasyprint():
    """Every other module of the reports takes it from there, or it would be imported the long way."""
    modules = Path(reports.__path__[0]).rglob("*.py")
    importing = {path.name for path in modules if re.search(r"^ *(from|import) weasyprint", path.read_text(), re.M)}
    assert importing == {"renderer.py"}

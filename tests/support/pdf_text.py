"""The text of a PDF by poppler's pdftotext, a program that knows nothing of ours."""

import shutil
import subprocess
from pathlib import Path

import pytest


def pdf_text(document: bytes | Path, *options: str) -> str:
    """What pdftotext says of a document; a test that asks for it where there is none is skipped."""
    program = shutil.which("pdftotext")
    if program is None:
        pytest.skip('needs pdftotext; on Debian or Ubuntu "apt-get install poppler-utils" brings it')
    content = document.read_bytes() if isinstance(document, Path) else document
    return subprocess.run([program, *options, "-", "-"], input=content, capture_output=True, check=True).stdout.decode()

"""Drawings leave the page as images and stand on its sheets as they were drawn: words, places, alternative text."""

import re
import subprocess
from datetime import datetime
from io import BytesIO

import pikepdf
import pytest

from reports.page import pages
from reports.page.drawing import Drawing
from reports.page.page_drawings import taken_out

MARGIN = 20 / 25.4 * 72  # of the sheet, left of every drawing [pt]


@pytest.fixture(scope="module")
def drawn():
    """A sheet with one drawing, whose words stand about x = 200, and its title tries to leave its place."""
    drawing = Drawing(400, 60, 'Cuts of "R&D" <b>run</b>')
    for y, (anchor, words) in enumerate((("start", "Heads"), ("middle", "Hearts"), ("end", "Tails")), start=1):
        drawing.text(200, 15 * y, words, anchor=anchor)
    page = f'<html lang="en"><head><title>t</title></head><body><figure>{drawing.svg()}</figure></body></html>'
    return pages.pdf(page, datetime(2031, 5, 1))


def test_words_stand_at_their_anchors(drawn):
    """A word begins at its anchor, ends there, or has its middle there, to a tenth of a point."""
    listed = subprocess.run(["pdftotext", "-bbox", "-", "-"], input=drawn, capture_output=True, check=True).stdout
    found = re.findall(r'xMin="([\d.]+)" yMin="[\d.]+" xMax="([\d.]+)" yMax="[\d.]+">(\w+)<', listed.decode())
    left, right = ({word: float(line[end]) - MARGIN for *line, word in found} for end in (0, 1))
    assert left["Heads"] == pytest.approx(200, abs=0.1)
    assert (left["Hearts"] + right["Hearts"]) / 2 == pytest.approx(200, abs=0.1)
    assert right["Tails"] == pytest.approx(200, abs=0.1)


def test_a_text_is_set_at_once(drawn):
    """Each text of a drawing is one object of text in the bundled sans, not one a letter."""
    with pikepdf.open(BytesIO(drawn)) as made:
        operators = [str(operator) for _, operator in pikepdf.parse_content_stream(made.pages[0])]
        faces = {str(face.BaseFont) for face in made.pages[0].Resources.Font.values()}
    assert operators.count("BT") == 3
    assert len(faces) == 1
    assert "Source-Sans" in faces.pop()


def test_a_drawing_keeps_its_title(drawn):
    """What a reader who cannot see the drawing is told is its title, whatever signs it holds."""
    with pikepdf.open(BytesIO(drawn)) as made:
        told = [str(item.Alt) for item in made.objects if isinstance(item, pikepdf.Dictionary) and "/Alt" in item]
    assert told == ['Cuts of "R&D" <b>run</b>']


def test_equal_drawings_are_handed_in_once():
    """A sign that stands in many places is one drawing, and everything round about stays as it was."""
    sign, other = "<svg width='1'><title>a</title></svg>", "<svg><path/></svg>"
    page, drawings = taken_out(f"<p>1{sign}2{other}3{sign}</p>", "bundled:drawing-")
    image = '<img src="bundled:drawing-0" alt="a">'
    assert page == f'<p>1{image}2<img src="bundled:drawing-1" alt="">3{image}</p>'
    assert drawings == {"bundled:drawing-0": sign.encode(), "bundled:drawing-1": other.encode()}

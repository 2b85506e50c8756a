"""Drawings leave the page as images and stand on its sheets as they were drawn: words, places, alternative text."""

import re
from datetime import datetime
from io import BytesIO

import pikepdf
import pytest
from pdf_text import pdf_text

from gaugebook.reports.page import pages, renderer, svg_fast_path
from gaugebook.reports.page.drawing import Drawing
from gaugebook.reports.page.page_drawings import taken_out

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
    found = re.findall(r'xMin="([\d.]+)" yMin="[\d.]+" xMax="([\d.]+)" yMax="[\d.]+">(\w+)<', pdf_text(drawn, "-bbox"))
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


def test_lines_are_those_of_the_renderer(monkeypatch):
    """Paths that are drawn here give the operators that WeasyPrint's own reading of them gives, arcs and all."""
    drawing = Drawing(400, 200, "t")
    drawing.path([(0, 0.5), (10.25, -3), (float("nan"), 0), (20, 20), (30.5, 7)], dash="3,2")
    drawing.curve(1, 2, 3, 4)
    drawing.area([(0, 0), (5, 5), (0, 5)], fill="#efefef")
    drawing.dots([(7, 7), (8.04, 9)])
    for n, shape in enumerate(("dot", "square", "diamond", "triangle")):
        drawing.mark(shape, 50 + 10 * n, 50)
    drawing.rings([(3, 3)])
    page = f'<html lang="en"><head><title>t</title></head><body>{drawing.svg()}</body></html>'
    quick = drawn_lines(pages.pdf(page, datetime(2031, 5, 1)))
    monkeypatch.setitem(svg_fast_path.QUICK_TAGS, "path", renderer.path)
    slow = drawn_lines(pages.pdf(page, datetime(2031, 5, 1)))
    assert len(quick) > 30
    assert [name for name, _ in quick] == [name for name, _ in slow]
    for (_, ours), (_, theirs) in zip(quick, slow, strict=True):
        assert ours == pytest.approx(theirs, abs=1e-5)


def drawn_lines(content):
    """Operators of the lines with their numbers, less the start at 0, 0 that WeasyPrint puts before every path."""
    drawn = ("m", "l", "c", "h", "f", "S", "B")
    with pikepdf.open(BytesIO(content)) as made:
        found = [(str(name), numbers) for numbers, name in pikepdf.parse_content_stream(made.pages[0])]
        parts = [(name, [float(number) for number in numbers]) for name, numbers in found if name in drawn]
    return [part for part in parts if part != ("m", [0.0, 0.0])]

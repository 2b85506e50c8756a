"""The genealogy's folding: few boxes however many lots, nothing lost, unknown lots told apart."""

import dataclasses

import pytest
from demo_book import GIN, VODKA, demo_house, write_demo_book

from gaugebook.pipeline.book.database import open_book
from gaugebook.reports.dossier.batch import gather_batch
from gaugebook.reports.dossier.genealogy import MOST_BOXES, genealogy_figure, genealogy_layout
from gaugebook.reports.page.language import language

ENGLISH = language("en")


@pytest.fixture(scope="module", params=[2, 12, 60])
def vodka(request, tmp_path_factory):
    folder = write_demo_book(tmp_path_factory.mktemp("book"), strips=request.param)
    with open_book(folder) as book:
        return gather_batch(book, demo_house(), VODKA)


def test_few_boxes(vodka):
    """However many strip runs stand behind a batch, no column holds more boxes than can be read."""
    layout = genealogy_layout(vodka, ENGLISH)
    for column in range(len(layout.headings)):
        assert sum(box.column == column and not box.received for box in layout.boxes.values()) <= MOST_BOXES


def test_folded_alcohol_is_the_sum(vodka):
    """The alcohol in the strip boxes is the alcohol of all strip runs (sum over the book's balances)."""
    strips = next(stage for stage in vodka.stages if stage.name == "strip")
    shown = [
        box.lines[-1] for box in genealogy_layout(vodka, ENGLISH).boxes.values() if box.column == 3 and not box.received
    ]
    total = sum(float(line.removesuffix(" LPA").replace(",", "")) for line in shown)
    assert total == pytest.approx(sum(balance.hearts_l for balance in strips.balances.values()), abs=0.051 * len(shown))


def test_shares_into_the_bottle_are_whole(vodka):
    """All of the batch's alcohol goes along the lines into each later column: shares sum to 1."""
    layout = genealogy_layout(vodka, ENGLISH)
    for stage in ("rectify", "reduce", "bottle"):
        column = layout.headings.index(stage)
        shares = [share for (_, end), share in layout.links.items() if layout.boxes[end].column == column and share]
        assert sum(shares) == pytest.approx(1.0)


def test_boxes_do_not_overlap(vodka):
    """No box of a column lies over another, and all lie inside the drawing."""
    import re

    svg = genealogy_figure(genealogy_layout(vodka, ENGLISH), ENGLISH)
    height = float(re.search(r'viewBox="0 0 [\d.]+ ([\d.]+)"', svg)[1])
    places = [
        tuple(map(float, found))
        for found in re.findall(r'<rect x="([\d.]+)" y="([\d.]+)" width="[\d.]+" height="([\d.]+)"', svg)
    ]
    assert places
    for x, y, tall in places:
        assert y + tall <= height
        assert sum(other[0] == x and abs(other[1] - y) < tall for other in places) == 1


def test_unknown_lot_stands_alone(tmp_path):
    """A lot that the book does not know gets a frame of its own and is never folded among the others."""
    with open_book(write_demo_book(tmp_path)) as book:
        batch = gather_batch(book, demo_house(), GIN)
    lots = {**batch.lots, "JUN-1": dataclasses.replace(batch.lots["JUN-1"], origin="unknown")}
    boxes = genealogy_layout(dataclasses.replace(batch, lots=lots), ENGLISH).boxes.values()
    assert [box.lines[0] for box in boxes if box.unknown] == ["JUN-1"]

"""The warehouse on the board: tables that say all without scripts, and two charts of them, of the second house."""

import json
import re
from datetime import date, datetime

import pytest
from cask_house import CASKS, OPENING, cask_book, event, filled

from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.house.profile_in_force import profile_in_force
from gaugebook.reports.board.board import gather_board
from gaugebook.reports.board.board_data import board_data
from gaugebook.reports.board.board_page import board_html, script
from gaugebook.reports.board.board_warehouse import _racks
from gaugebook.reports.warehouse.places import gather_warehouse

# Casks that planted faults put outside their band, of those still full: a leak, kilograms for pounds, 60 lb too many, a
# fill under a wrong number (sample_logs/second_house/planted_faults.toml).
OUTSIDE = {"C-0042": "loses more", "C-0120": "loses more", "C-0133": "loses less", "C-0116": "loses more"}


@pytest.fixture(scope="module")
def board(second_book, tmp_path_factory):
    with open_book(second_book) as book:
        return gather_board(book, profile_in_force(book), tmp_path_factory.mktemp("out"))


@pytest.fixture(scope="module")
def data(board):
    return board_data(board)


@pytest.fixture(scope="module")
def page(board):
    return board_html(board)


def litres(words: str) -> float:
    return float(words.split(" ")[0].replace(",", ""))


def test_every_cask_of_the_stock_stands_once(second_book, data):
    """Each with its place, in the order of age; what is left is what the book's stock of casks says."""
    with open_book(second_book) as book:
        stock = book.frame("SELECT * FROM derived.cask_stock").to_dicts()
    rows = {cask["contents"]: cask for cask in data["warehouse"]["casks"]}
    assert len(rows) == len(data["warehouse"]["casks"]) == len(stock) == 160
    for row in stock:
        told = rows[row["contents"]]
        assert told["warehouse"] == row["location"]
        if row["expected_l"] is None:
            assert (told["predicted"], told["by"]) == ("–", "not known")
        else:
            assert litres(told["predicted"]) == pytest.approx(row["expected_l"], rel=0.005)


def test_places_add_up(data):
    """Casks and litres of both warehouses are those of all ages."""
    whole = data["warehouse"]
    assert [place["name"] for place in whole["places"]] == ["W1", "W2"]
    assert sum(place["casks"] for place in whole["places"]) == sum(age[1] for age in whole["ages"]) == 160
    for name, column in (("book", 2), ("predicted", 3)):
        total = sum(litres(place[name]) for place in whole["places"])
        assert total == pytest.approx(sum(age[column] for age in whole["ages"]), rel=1e-4)


def test_oldest_and_youngest_are_those_of_the_record(data):
    """W1: filled on 16 October 2019, 6 years 8 months 14 days before 30 June 2026; three casks have that day."""
    [w1, w2] = data["warehouse"]["places"]
    assert w1["oldest"] == "6 y 8 m 14 d (C-0006)"
    ages = {cask["cask"]: cask["age"] for cask in data["warehouse"]["casks"]}
    for place in (w1, w2):
        for words in (place["oldest"], place["youngest"]):
            age, cask = re.fullmatch(r"(.*) \((.*)\)", words).groups()
            assert ages[cask] == age


def test_casks_outside_their_band_are_those_of_the_planted_faults(data):
    """Each with what it does and the flag that says so; no other."""
    outside = {cask["cask"]: cask["outside"] for cask in data["warehouse"]["outside"]}
    assert outside == OUTSIDE
    flags = {flag["flag"]: flag["rule"] for flag in data["flags"]}
    assert {flags[cask["flag"]] for cask in data["warehouse"]["outside"]} == {"cask-evaporation"}


def test_the_page_says_all_without_scripts(data, page):
    """Each place, age and cask stands in a table of the page; the scripts are given only what they draw."""
    section = page[page.index('id="warehouse"') : page.index('id="trends"')]
    for rows, names in ((data["warehouse"]["places"], ("name", "book", "predicted", "oldest", "longest")),
                        (data["warehouse"]["outside"], ("cask", "rate", "usual", "like_it")),
                        (data["warehouse"]["casks"], ("contents", "age", "filled", "gauged", "book"))):  # fmt: skip
        for row in rows:
            for name in names:
                assert row[name] in section, (row, name)
    for age in data["warehouse"]["ages"]:
        assert all(words in section for words in (age[0], age[6], age[7], age[8]))
    assert '<a href="#warehouse">Warehouse</a>' in page
    embedded = json.loads(re.search(r'<script type="application/json" id="data">(.*?)</script>', page)[1])
    assert set(embedded["warehouse"]) == {"ages", "months"}


def test_what_is_not_on_record_is_not_said_to_be_due(page):
    """No record of this house says when a cask is to be gauged or dumped, so the board does not."""
    section = page[page.index('id="warehouse"') : page.index('id="trends"')]
    assert not re.search(r"\bdue\b|overdue", section)


def test_a_house_without_casks_has_no_warehouse(lived_book, out):
    """Neither the part nor a way to it; the data says that there is none."""
    with open_book(lived_book) as book:
        board = gather_board(book, profile_in_force(book), out, months=1)
    assert board_data(board)["warehouse"] is None
    page = board_html(board)
    assert 'id="warehouse"' not in page and "#warehouse" not in page.split("<script>")[0]


@pytest.fixture(scope="module")
def racked(tmp_path_factory):
    """Three casks in two rows of one warehouse, one somewhere else, one of which nobody wrote down where."""
    spots = {"C1": ("W1", "05/3"), "C2": ("W1", "05/1"), "C3": ("W1", "6 1"), "C4": ("Dunnage", "row 4"), "C9": ()}
    folder = cask_book(
        tmp_path_factory.mktemp("racks"),
        opening_stock=OPENING,
        casks=[
            CASKS[0] | {"cask": cask} | dict(zip(("location", "position"), spot, strict=False))
            for cask, spot in spots.items()
        ],
        cask_events=[
            *(filled(cask, 100, f"2024-01-{10 + n}", run="FILL-1") for n, cask in enumerate(("C1", "C2", "C3", "C4"))),
            event("C3", "moved", "2024-02-01", location="W1", position="5 3"),
            event("C1", "regauged", "2024-03-01", volume_at_t_l=100, strength_reading=62.5, location="W1"),
            event("C4", "moved", "2024-03-01", location="Dunnage"),
            event("C4", "moved", "2024-03-02", location="Yard"),
        ],
        runs=[{"run": "FILL-1", "stage": "fill", "equipment": "T1", "started_at": "2024-01-10",
               "ended_at": "2024-01-13", "operator": "AB"}],
    )  # fmt: skip
    with open_book(folder, writing=True) as book:
        from gaugebook.checks.run import run_checks

        run_checks(book)
        return gather_warehouse(book)


def test_rows_and_tiers_are_what_the_text_of_a_place_tells(racked):
    """C3 was moved beside C1, which was gauged where it lay; C4 went to the yard, and where in it nobody said."""
    casks = {place.parts: place.held.casks for place in racked.places}
    assert casks == {
        ("Yard",): 1, ("W1",): 3, ("W1", "5"): 3, ("W1", "5", "1"): 1,
        ("W1", "5", "3"): 2, ("place not on record",): 1,
    }  # fmt: skip
    assert {place.parts[0]: place.held.book_l for place in racked.places if len(place.parts) == 1} == {
        "Yard": pytest.approx(62.5), "W1": pytest.approx(187.5), "place not on record": pytest.approx(90.0),
    }  # fmt: skip


def test_racks_show_rows_down_and_tiers_across(racked):
    """Of W1 its row with three casks: one in tier 1, two in tier 3; a warehouse without more in its text has none."""
    racks = {rack["warehouse"]: rack for rack in _racks(racked.places)}
    assert set(racks) == {"W1"}
    assert racks["W1"]["tiers"] == ["1", "3"]
    [[row, casks, predicted, tiers]] = racks["W1"]["rows"]
    assert (row, casks, tiers) == ("5", 3, [1, 2])
    assert predicted.startswith("187.5")


def test_longest_not_gauged_is_by_gauge_or_filling(racked):
    """C1 was gauged in March; of the others in W1 C2 was filled first."""
    [w1] = [place for place in racked.places if place.parts == ("W1",)]
    assert w1.longest == (datetime(2024, 1, 11), "C2")
    assert w1.oldest is None or isinstance(w1.oldest[0], date)


# In the browser


@pytest.fixture(scope="module")
def written(page, tmp_path_factory):
    path = tmp_path_factory.mktemp("board") / "board.html"
    path.write_text(page, encoding="utf-8")
    return path


@pytest.fixture
def opened(browser, written):
    """The warehouse in a wide window; in the end nothing was complained about and nothing asked for."""
    browser.media()
    browser.size(1440, 1000)
    browser.open(written)
    browser.go("warehouse")
    yield browser
    assert browser.complaints() == []
    assert browser.requests() == []


def test_a_bar_stands_for_each_age(opened, data):
    """As many bars as ages, as high as their litres; the drawing has words for those who cannot see it."""
    heights = opened.js(
        "[...document.querySelectorAll('#stock-ages .amount')].map((bar) => Number(bar.getAttribute('height')))"
    )
    predicted = [age[3] for age in data["warehouse"]["ages"]]
    assert len(heights) == len(predicted)
    assert [height / heights[1] for height in heights] == pytest.approx([p / predicted[1] for p in predicted], abs=0.01)
    assert "Bars: predicted" in opened.js("document.querySelector('#stock-ages svg').getAttribute('aria-label')")
    assert opened.js("document.querySelectorAll('#stock-months path.trace').length") == 1


def test_casks_are_chosen_by_the_form(opened):
    """Those never gauged since filling, those outside the band, and one found by its number."""
    shown = "[...document.querySelectorAll('#cask-table tbody tr')].filter((row) => !row.hidden).length"
    assert opened.js(shown) == 160
    for value, count in (("casks like it", 40), ("outside", 4), ("not known", 1)):
        opened.js(f"document.querySelector('#warehouse input[value=\"{value}\"]').click()")
        assert opened.js(shown) == count
    opened.js('document.querySelector(\'#warehouse input[name="foretold"][value=""]\').click()')
    opened.js("{ const find = document.querySelector('#warehouse input[name=find]'); find.value = 'C-0042/1';"
              " find.dispatchEvent(new Event('input', { bubbles: true })); }")  # fmt: skip
    assert opened.js(shown) == 1


def test_a_cask_outside_leads_to_its_row_and_its_flag(opened, data):
    """The address of a cask puts the focus on its row, that of its flag on the flag's."""
    cask = data["warehouse"]["outside"][0]
    opened.go(f"cask/{cask['slug']}")
    assert opened.js("document.activeElement.id") == f"cask-{cask['slug']}"
    opened.go(f"flag/{cask['flag']}")
    assert opened.js("document.activeElement.id") == cask["flag"]


def test_nothing_is_wider_than_a_narrow_window(opened):
    """390 points: no part of the page runs out of it."""
    opened.size(390, 900)
    opened.go("warehouse")
    assert opened.js("document.documentElement.scrollWidth") <= 390
    assert opened.js("document.querySelector('#stock-ages svg').getBoundingClientRect().width") <= 390


@pytest.fixture
def call(browser):
    """Calls a function of the module with JSON arguments."""
    browser.send("Page.navigate", url="about:blank")
    browser.settle()
    modules = script(("scale.js", "draw.js", "plot.js", "warehouse.js"))
    browser.js(modules.replace("const modules", "globalThis.stockModules").replace("modules[", "stockModules["))

    def called(function, *arguments):
        return browser.js(
            f'stockModules["warehouse.js"].{function}({", ".join(json.dumps(item) for item in arguments)})'
        )

    return called


@pytest.mark.parametrize(
    ("name", "room", "words"),
    [("under 1 year", 80, "under 1 year"), ("under 1 year", 30, "<1"), ("1 year", 30, "1"), ("3 years", 30, "3"),
     ("12 years or more", 30, "12+"), ("age not shown", 30, "?")],
)  # fmt: skip
def test_short_names_of_ages(call, name, room, words):
    """Where there is little room the years stand alone."""
    assert call("shortAge", name, room) == words


def test_months_are_named_with_room_between(call):
    """Of 24 months and room for six every sixth is named, counted from January."""
    months = [f"{2025 + n // 12}-{n % 12 + 1:02}" for n in range(24)]
    named = call("namedMonths", months, 6)
    assert [month for month, is_named in zip(months, named, strict=True) if is_named] == [
        "2025-01", "2025-07", "2026-01", "2026-07",
    ]  # fmt: skip


def test_rows_of_the_second_house_add_up(data):
    """Every cask has a row and a tier there: rows add up to their warehouse, tiers to their row; W1 has six tiers."""
    racks = {rack["warehouse"]: rack for rack in data["warehouse"]["racks"]}
    whole = {place["name"]: place["casks"] for place in data["warehouse"]["places"]}
    assert {name: sum(row[1] for row in rack["rows"]) for name, rack in racks.items()} == whole
    assert all(sum(row[3]) == row[1] for rack in racks.values() for row in rack["rows"])
    assert [rack["tiers"] for rack in racks.values()] == [["1", "2", "3", "4", "5", "6"], ["1", "2", "3"]]
    rows = [row[0] for row in racks["W1"]["rows"]]
    assert rows == sorted(rows, key=int)

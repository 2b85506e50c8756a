"""The board in a browser: by mouse, keys, ear and on paper, without a complaint and without asking for anything."""

import re

import pytest

from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.intake.flow import profile_in_force
from gaugebook.reports.board.board import gather_board
from gaugebook.reports.board.board_data import board_data
from gaugebook.reports.board.board_page import board_html

SLOW = "STR-2605-06"  # the last run of the still whose recovery fell
RECOVERY = "Stripping recovery, S2, rye-oat mash"
PLOT = ".measure:not([hidden]) .chart:last-of-type .plot"
STOPS, TO_EXPLAIN = "stops release", "needs explanation"


@pytest.fixture(scope="module")
def board(browser, lived_book, out):
    """All thirteen months of the sample distillery."""
    with open_book(lived_book) as book:
        return gather_board(book, profile_in_force(book), out)


@pytest.fixture(scope="module")
def data(board):
    return board_data(board)


@pytest.fixture(scope="module")
def page(board, out):
    """The page as a file."""
    path = out / "board.html"
    path.write_text(board_html(board), encoding="utf-8")
    return path


@pytest.fixture
def opened(browser, page):
    """The page opened afresh in a wide window; in the end nothing was complained about and nothing asked for."""
    browser.media()
    browser.size(1440, 1000)
    browser.open(page)
    yield browser
    assert browser.complaints() == []
    assert browser.requests() == []


def test_a_year_is_light(page):
    """Thirteen months of the sample distillery weigh less than 3 MB."""
    assert page.stat().st_size < 3_000_000


@pytest.fixture
def chart(opened, data):
    """The page with the chart of the still whose recovery fell."""
    opened.go(f"chart/{next(chart['slug'] for chart in data['charts'] if chart['title'] == RECOVERY)}")
    return opened


def ticks(browser, plot=PLOT):
    return browser.js(f"[...document.querySelectorAll('{plot} .tick')].map(t => t.textContent)")


def focused(browser):
    return browser.js("document.activeElement.id || document.activeElement.textContent.trim().slice(0, 40)")


def here(browser):
    return browser.js("location.hash")


def test_keys_lead_through_the_page(opened):
    """Tab reaches the skip link, the paper, the parts; Enter opens a part and its heading has the focus."""
    walked = []
    for _ in range(9):
        opened.press("Tab")
        walked.append(focused(opened))
        look = "getComputedStyle(document.activeElement.matches('input') ? document.activeElement.nextSibling : "
        assert opened.js(f"{look}document.activeElement).outlineStyle") == "solid"
    assert walked[0] == "Skip to the content"
    assert walked[2:] == ["print-view", "print-all", "In hand", "Batches", "Flags", "Trends", "Runs"]
    opened.press("Enter")
    assert (here(opened), focused(opened)) == ("#runs", "runs-title")
    assert opened.js("document.title").startswith("Runs")
    opened.js("document.querySelector('.skip').focus()")
    opened.press("Enter")
    assert (here(opened), focused(opened)) == ("#runs", "main")


def test_point_leads_to_its_run_by_keys(chart):
    """Arrows walk the points, which are told in words; Enter opens the run; going back shows the chart again."""
    chart.js(f"document.querySelector('{PLOT}').focus()")
    for key in ("Home", "ArrowRight", "ArrowRight", "ArrowLeft"):
        chart.press(key)
    [slider] = [node for node in chart.read_aloud() if node["role"] == "slider" and node["name"].startswith(RECOVERY)]
    said = chart.js(f"document.querySelector('{PLOT}').getAttribute('aria-valuetext')")
    assert re.match(r"STR-\d{4}-\d\d, 2025-10-\d\d, 9\d\.\d.* %.*; in the baseline", said)
    assert "Enter opens the run" in slider["description"]
    chart.press("Enter")
    assert here(chart) == f"#run/{said[:11]}" and focused(chart) == "run-title"
    assert chart.js("document.querySelector('#run h2').textContent") == f"Run {said[:11]}"
    chart.js("history.back()")
    chart.settle()
    assert chart.js("!document.getElementById('measure').hidden && document.getElementById('run').hidden")


def test_point_leads_to_its_run_by_mouse(chart, data):
    """A click on the lowest point opens that run, its figures, its curve and the batches that it went into."""
    x, y = (
        chart.js(f"""(() => {{ const plot = document.querySelector('{PLOT}'); plot.scrollIntoView({{block: 'center'}});
        const marks = [...plot.querySelectorAll('path.ink')].map(m => m.getBoundingClientRect());
        const lowest = marks.reduce((a, b) => a.y > b.y ? a : b);
        return [lowest.x + lowest.width / 2, lowest.y + lowest.height / 2]; }})()""")
    )
    chart.click(x, y)
    assert here(chart) == f"#run/{SLOW}"
    said = chart.js("document.getElementById('run').innerText")
    slow = next(run for run in data["runs"] if run["code"] == SLOW)
    assert all(data["batches"][n]["code"] in said for n in slow["batches"])
    assert "beyond three standard deviations" in said and "Cut to tails" in said
    assert chart.js("document.querySelectorAll('#run .trace').length") >= 4
    chart.click_on("#run .plot")
    assert re.match(r"\d\.\d+ h: pot \d+", chart.js("document.querySelector('#run .readout').textContent"))
    whole = ticks(chart, "#run .plot")
    chart.press("+")
    assert ticks(chart, "#run .plot") != whole
    chart.click_on("#run summary")
    assert chart.js("document.querySelectorAll('#run details tbody tr').length") == 61


def test_an_unknown_address_leads_home(opened):
    """An address that the page does not know, or can not read, shows what is in hand; an unknown run says so."""
    for address in ("nothing", "%E0%A4%A", "run/no-such-run"):
        opened.go(address)
    assert opened.js("document.getElementById('unknown').checkVisibility()")
    assert 'has no run "no-such-run"' in opened.js("document.getElementById('unknown').innerText")
    opened.go("%")
    assert opened.js("[...document.querySelectorAll('.part')].filter(e => !e.hidden).map(e => e.id)") == ["in-hand"]


def test_dragging_zooms_every_chart(chart):
    """A drag across a chart zooms all charts to that time; 0 shows the whole again; months can be chosen too."""
    whole = ticks(chart)
    box = chart.js(f"(() => {{ const e = document.querySelector('{PLOT}'); e.scrollIntoView({{block: 'center'}});"
                   "const r = e.getBoundingClientRect(); return [r.x, r.y, r.width, r.height]; })()")  # fmt: skip
    row = box[1] + box[3] / 2
    chart.point("mousePressed", box[0] + 300, row)
    chart.point("mouseMoved", box[0] + 400, row)
    chart.point("mouseReleased", box[0] + 450, row)
    chart.settle()
    zoomed = ticks(chart)
    assert zoomed and zoomed != whole and ticks(chart, ".measure:not([hidden]) .chart:first-of-type .plot") == zoomed
    chart.js(f"document.querySelector('{PLOT}').focus()")
    chart.press("+")
    assert ticks(chart) != zoomed
    chart.press("0")
    assert ticks(chart) == whole
    chart.js("const f = document.getElementById('span').elements.from; f.value = [...f.options].at(-1).value;"
             "f.dispatchEvent(new Event('change'))")  # fmt: skip
    assert all(tick.startswith("2026-1") for tick in ticks(chart))
    chart.click_on('#span input[value="month"] + span')
    assert chart.js(f"document.querySelector('{PLOT} .bar') !== null")


def test_tables_stand_behind_charts(chart, data):
    """The table of a chart has a row for each point, each with a link to its run."""
    chart.js(
        f"document.querySelector('{PLOT}').closest('article').querySelectorAll('details').forEach(d => d.open = true)"
    )
    chart.settle()
    points = next(item for item in data["charts"] if item["title"] == RECOVERY)["at"]
    rows = "document.querySelectorAll('.measure:not([hidden]) .chart:last-of-type .points tbody"
    assert chart.js(f"{rows} tr').length") == chart.js(f'{rows} a[href^="#run/"]\').length') == len(points)


def test_flags_by_age_choose_the_list(opened, data):
    """A cell of the ages lists its flags; each is heard with its number; the form narrows further."""
    stops, explain = (sum(flag["severity"] == kind for flag in data["flags"]) for kind in (STOPS, TO_EXPLAIN))
    opened.go("flags")
    names = [node["name"] for node in opened.read_aloud() if node["role"] == "button"]
    assert (
        f"{stops} flags, {STOPS}, 1 to 4 weeks; {stops} open" not in names
    )  # raised on one day: first by the day of the record
    opened.click_on('#ages input[value="0"] + span')
    names = [node["name"] for node in opened.read_aloud() if node["role"] == "button"]
    assert f"{explain} flags, {TO_EXPLAIN}, 1 to 4 weeks; {explain - 2} open" in names
    opened.js("document.querySelector('#ages tbody tr:nth-child(2) button').click()")
    opened.settle()
    shown = "[...document.querySelectorAll('#flag-table tbody tr')].filter(r => !r.hidden)"
    assert opened.js(f"{shown}.length") == explain
    opened.click_on('#flags input[value="accepted"] + span')
    assert opened.js(f"{shown}.map(r => r.innerText.includes('seen and accepted'))") == [True]
    assert opened.js("document.querySelector('#flags output').textContent") == f"1 row of {len(data['flags'])}"


def test_batches_by_state(opened):
    """The form chooses batches by state; a batch opens with its decision and its dossier."""
    opened.go("batches")
    opened.click_on('#batches input[value="released"] + span')
    assert opened.js("[...document.querySelectorAll('#batch-table tbody tr')].filter(r => !r.hidden).length") == 1
    assert opened.js("[...document.querySelectorAll('.shelf tbody th')].map(h => h.textContent)") == [
        "waiting", "held", "released", "rejected"
    ]  # fmt: skip
    opened.js("document.querySelector('.shelf a[aria-label^=VOD-2609A]').click()")
    opened.settle()
    said = opened.js("document.getElementById('batch').innerText")
    assert "released" in said and "as the panel found" in said and focused(opened) == "batch-title"
    assert opened.js("document.querySelector('#batch a[href$=\".pdf\"]').getAttribute('href')") == "VOD-2609A.pdf"


def test_page_is_heard(opened):
    """A screen reader finds landmarks, one heading of the first level, named tables and named controls."""
    for part in ("in-hand", "batches", "flags", f"run/{SLOW}"):
        opened.go(part)
        heard = opened.read_aloud()
        roles = [node["role"] for node in heard]
        assert {"banner", "navigation", "main", "contentinfo"} <= set(roles)
        assert opened.js("[...document.querySelectorAll('h1')].filter(e => e.checkVisibility()).length") == 1
        control = ("button", "link", "textbox", "searchbox", "combobox", "radio", "slider", "table", "region", "form")
        assert [node for node in heard if node["role"] in control and not node["name"]] == []


def luminance(colour):
    parts = [int(part) / 255 for part in re.findall(r"\d+", colour)[:3]]
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


@pytest.mark.parametrize("paper", ["light", "dark"])
def test_text_stands_out(opened, paper):
    """Ink and links stand out from the paper by 4.5 to 1 or more (WCAG 2.2, 1.4.3), by system and by choice."""
    opened.click_on('input[name="light"][value=""] + span')
    opened.media(prefers_color_scheme=paper)
    by_system = opened.js("getComputedStyle(document.documentElement).backgroundColor")
    opened.media(prefers_color_scheme="light" if paper == "dark" else "dark")
    opened.click_on(f'input[name="light"][value="{paper}"] + span')
    assert opened.js("getComputedStyle(document.documentElement).backgroundColor") == by_system
    for selector in ("h1", ".asof", ".more a", ".lines .end"):
        colour = opened.js(f"getComputedStyle(document.querySelector('{selector}')).color")
        light, dark = sorted((luminance(colour), luminance(by_system)), reverse=True)
        assert (light + 0.05) / (dark + 0.05) >= 4.5, selector


@pytest.mark.parametrize("width", [1440, 390, 320])
def test_nothing_hangs_over_the_edge(opened, width):
    """No part is wider than the window, on a desk or in a hand."""
    opened.size(width, 900)
    for part in ("in-hand", "batches", "flags", "trends", "measure/strip_recovery", "runs", f"run/{SLOW}"):
        opened.go(part)
        assert opened.js("document.documentElement.scrollWidth") <= width, part


def test_print(opened):
    """On paper there are no controls, the paper is white whatever the screen was, and everything can be had at once."""
    opened.media("print", prefers_color_scheme="dark")
    assert opened.js("getComputedStyle(document.documentElement).getPropertyValue('--paper')") == "#fff"
    assert opened.js("['nav.parts', '.tools', '.skip'].every(s => !document.querySelector(s).checkVisibility())")
    assert opened.printed().startswith(b"%PDF")
    opened.js("document.documentElement.classList.add('everything')")
    opened.settle()
    seen = opened.js("[...document.querySelectorAll('.part')].filter(e => e.checkVisibility()).map(e => e.id)")
    assert seen == ["in-hand", "batches", "flags", "trends", "measure"]

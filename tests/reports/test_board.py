"""The board: what it gathers, that it is one safe page, and that it works in a browser by mouse, keys and ear."""

import dataclasses
import json
import re
import shutil
from datetime import timedelta
from html.parser import HTMLParser

import pytest
from click.testing import CliRunner

from checks.decisions import decide
from checks.life import explain
from checks.run import effective_rules
from pipeline.database import open_book
from pipeline.errors import GaugebookError
from pipeline.flow import house_of
from reports.board import age_class, days_to, gather_board
from reports.board_command import board_command
from reports.board_curves import thinned
from reports.board_data import board_data
from reports.board_hand import in_hand
from reports.board_page import board_html, embedded

DECIDED = {"VOD-2511A": "released", "GIN-2603A": "held", "AKV-2609B": "rejected"}
STOPS, TO_EXPLAIN = "stops release", "needs explanation"
LATER = timedelta(days=10)
SLOW = "STR-2605-07"  # the last run of the still whose recovery fell


@pytest.fixture(scope="module")
def lived_book(sample_book, tmp_path_factory):
    """The sample book ten days after its first check: three batches decided on, a flag explained, one accepted."""
    folder = tmp_path_factory.mktemp("lived") / "book"
    shutil.copytree(sample_book, folder)
    with open_book(folder, writing=True) as book, book.transaction():
        house, (rules, _) = house_of(book), effective_rules(book)
        at = book.value("SELECT checked_at FROM flagged.checked_from") + timedelta(days=1)
        for batch, verdict in DECIDED.items():
            decide(book, house, rules, batch, verdict, "EV", "as the panel found", at)
        flags = book.frame("SELECT flag FROM flagged.flags WHERE severity = ? ORDER BY flag", [TO_EXPLAIN])["flag"]
        explain(book, house, flags[0], "AQ", "the probe was changed", at)
        explain(book, house, flags[1], "EV", "seen and accepted", at, accept=True)
        book.execute("UPDATE flagged.checked_from SET checked_at = checked_at + INTERVAL 10 DAY")
    return folder


@pytest.fixture(scope="module")
def board(lived_book, tmp_path_factory):
    """The board of that book; one dossier lies beside it, one in the folder of dossiers."""
    out = tmp_path_factory.mktemp("out")
    (out / "dossiers").mkdir()
    (out / "VOD-2511A.pdf").write_bytes(b"%PDF-1.7")
    (out / "dossiers" / "GIN-2603A.pdf").write_bytes(b"%PDF-1.7")
    with open_book(lived_book) as book:
        return gather_board(book, house_of(book), out), out


@pytest.fixture(scope="module")
def data(board):
    return board_data(board[0])


@pytest.fixture(scope="module")
def page(board):
    """The page as a file."""
    path = board[1] / "board.html"
    path.write_text(board_html(board[0]), encoding="utf-8")
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


# What it gathers


def test_every_state_is_there(data):
    """Each batch stands with the decision in force; those without one wait, counted to the last check."""
    states = {batch["code"]: batch["state"] for batch in data["batches"] if batch["state"] != "waiting"}
    assert states == DECIDED
    released = next(batch for batch in data["batches"] if batch["code"] == "VOD-2511A")
    assert released["by"] == "EV, qa lead" and released["why"] == "as the panel found"


def test_flags_are_told_with_life_and_age(data):
    """A flag has its life and its age from the first time that it was raised to the last check."""
    lives = [flag["state"] for flag in data["flags"]]
    assert (lives.count("explained"), lives.count("accepted")) == (1, 1)
    assert lives.count("open") == len(lives) - 2
    assert {flag["days"] for flag in data["flags"]} == {LATER.days}
    assert {flag["age"][0] for flag in data["flags"]} == {1}  # 1 to 4 weeks


@pytest.mark.parametrize(("days", "place"), [(0, 0), (6, 0), (7, 1), (27, 1), (28, 2), (90, 2), (91, 3), (None, None)])
def test_age_classes(days, place):
    """An age belongs to the class whose first day it has reached."""
    assert age_class(days) == place


def test_age_without_a_beginning(board):
    """An unknown beginning is no age; one after the check is none yet."""
    at = board[0].checked_at
    assert days_to(at, None) is None
    assert days_to(at, at + timedelta(hours=3)) == 0


def test_in_hand_is_what_is_open(data):
    """What waits is neither released nor rejected; what was explained need not be explained again."""
    hand = in_hand(data)
    waiting = [data["batches"][n]["code"] for _, _, places in hand["waiting"] for n in places]
    assert len(waiting) == 45 and not {"VOD-2511A", "AKV-2609B"} & set(waiting) and "GIN-2603A" in waiting
    open_ = [data["flags"][n] for n in hand["open"]]
    assert {flag["state"] for flag in open_} == {"open"}
    assert [flag["severity"] for flag in open_] == [STOPS] * 8 + [TO_EXPLAIN] * 13


def test_points_lead_to_runs_and_batches(data, lived_book):
    """Each point names its run; runs lead to the batches that they went into, by the book's lineage."""
    recovery = next(chart for chart in data["charts"] if chart["title"].startswith("Stripping recovery, S2, rye"))
    runs = [data["runs"][n] for n in recovery["run"]]
    assert all(run["stage"] == "strip" and run["equipment"] == "S2" for run in runs)
    assert [run["end"] for run in runs] == recovery["at"]
    assert all(run["curve"] is not None for run in runs)
    slow = next(run for run in runs if run["code"] == SLOW)
    with open_book(lived_book) as book:
        lineage = book.frame("SELECT DISTINCT batch FROM derived.lineage WHERE run = ? ORDER BY batch", [SLOW])["batch"]
    assert sorted(data["batches"][n]["code"] for n in slow["batches"]) == lineage.to_list() != []


def test_dossiers_are_linked_where_they_lie(data):
    """A dossier is linked relative to the board, and only where there is one."""
    linked = {batch["code"]: batch["dossier"] for batch in data["batches"] if batch["dossier"]}
    assert linked == {"VOD-2511A": "VOD-2511A.pdf", "GIN-2603A": "dossiers/GIN-2603A.pdf"}


def test_only_late_runs_one_by_one(lived_book, tmp_path):
    """With fewer months there are fewer runs, but no fewer months on the charts, and what waits stays."""
    with open_book(lived_book) as book:
        short = board_data(gather_board(book, house_of(book), tmp_path, months=1))
    assert {run["ended"][:7] for run in short["runs"] if not run["flags"]} == {"2026-10"}
    assert "GIN-2603A" in {batch["code"] for batch in short["batches"]}
    assert max(len(chart["months"]) for chart in short["charts"]) == 13


@pytest.mark.parametrize("most", [2, 4, 20, 200])
def test_thinning_keeps_the_peaks(most):
    """However few points are kept, the ends and the greatest value are among them."""
    points = [(n / 10, 50.0 + n % 7) for n in range(500)]
    points[333] = (33.3, 99.0)
    kept = thinned(points, most)
    assert kept[0] == points[0] and kept[-1] == points[-1] and (33.3, 99.0) in kept
    assert len(kept) <= most + 2


# That it is one safe page


def test_size_and_sameness(board, page):
    """Thirteen months of the sample distillery weigh less than 3 MB, and the same book gives the same bytes."""
    made = page.read_bytes()
    assert len(made) < 3_000_000
    assert board_html(board[0]).encode() == made


def test_json_cannot_leave_its_element():
    """No text ends the script element or a line of it, and what is read back is what was written."""
    nasty = {"</script><script>alert(1)</script>": "<!--\u2028\u2029&amp;\U0001f600"}
    text = str(embedded(nasty))
    assert not set(text) & {"<", ">", "&", "\u2028", "\u2029"} and text.isascii()
    assert json.loads(text) == nasty


class _Reader(HTMLParser):
    """Every attribute of the page by element."""

    def __init__(self, text):
        super().__init__()
        self.seen = []
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        self.seen.append((tag, dict(attrs)))


def test_nothing_is_fetched(page):
    """No element has an address outside the page but the dossiers, and the policy forbids fetching."""
    seen = _Reader(page.read_text(encoding="utf-8")).seen
    addresses = {attributes[name] for _, attributes in seen for name in ("src", "href", "action") if name in attributes}
    assert {address for address in addresses if not address.startswith("#")} == {
        "data:,", "VOD-2511A.pdf", "dossiers/GIN-2603A.pdf"
    }  # fmt: skip
    [policy] = [a["content"] for _, a in seen if a.get("http-equiv") == "Content-Security-Policy"]
    assert policy.startswith("default-src 'none';") and "unsafe" not in policy and "http" not in policy
    assert not [tag for tag, attributes in seen if "style" in attributes or any(n.startswith("on") for n in attributes)]


HOSTILE = '</script><img src=x onerror="document.title=1">\u2028"&\u202e'


@pytest.fixture(scope="module")
def hostile(board):
    """A board whose batch, run, flag, person and house have names that would like to be code."""
    made, out = board
    batch = made.batches[0] | {"batch": HOSTILE, "reason": HOSTILE, "person": HOSTILE, "decided_at": made.checked_at}
    run = made.runs[-1] | {"run": HOSTILE, "operator": HOSTILE, "batches": [HOSTILE]}
    flag = made.flags[0] | {"message": HOSTILE, "batches": [HOSTILE], "run": HOSTILE, "record": HOSTILE}
    point = dataclasses.replace(made.trends.charts[0].points[-1], run=HOSTILE, batch=HOSTILE)
    chart = dataclasses.replace(made.trends.charts[0], points=(point,), title=HOSTILE)
    path = out / "hostile.html"
    path.write_text(
        board_html(dataclasses.replace(
            made, house=dataclasses.replace(made.house, name=HOSTILE), batches=(batch,), runs=(run,), flags=(flag,),
            curves={}, trends=dataclasses.replace(made.trends, charts=(chart,), findings=(), lone_runs=()),
        )),
        encoding="utf-8",
    )  # fmt: skip
    return path


def test_hostile_names_stay_text(hostile, browser):
    """Names that would like to be code are shown as text, on every part of the page."""
    browser.size(1440, 1000)
    browser.open(hostile)
    slug = {kind: browser.js(f"JSON.parse(document.getElementById('data').textContent).{kind}[0].slug")
            for kind in ("batches", "runs", "charts")}  # fmt: skip
    for address in ("in-hand", f"batch/{slug['batches']}", f"run/{slug['runs']}", f"chart/{slug['charts']}"):
        browser.go(address)
        assert browser.js("document.querySelectorAll('img').length") == 0
        assert "</script><img src=x" in browser.js("document.querySelector('main').innerText")
    browser.js("document.querySelectorAll('details').forEach(d => { d.open = true; })")
    assert browser.js("document.querySelectorAll('script').length") == 2
    assert browser.complaints() == [] and browser.requests() == []


def test_empty_house(board, tmp_path, browser):
    """A book without batches, flags and runs gives a page that says so and complains of nothing."""
    trends = dataclasses.replace(board[0].trends, charts=(), findings=(), lone_runs=(), breakdowns=())
    empty = dataclasses.replace(board[0], batches=(), flags=(), runs=(), curves={}, trends=trends, last=None)
    (tmp_path / "empty.html").write_text(board_html(empty), encoding="utf-8")
    browser.open(tmp_path / "empty.html")
    said = {
        "in-hand": "no batches wait", "batches": "No batch is bottled", "flags": "Nothing is flagged",
        "trends": "There are no ended runs", "measure/x": "Charts",
    }  # fmt: skip
    for part, words in said.items():
        browser.go(part)
        assert words in browser.js("document.querySelector('main').innerText")
    assert browser.complaints() == []


def test_command(lived_book, tmp_path):
    """The command prints where the page is; --json is the same data and writes nothing."""

    def run(*arguments):
        return CliRunner().invoke(board_command, [*arguments, "--months", "1"], obj=lived_book, catch_exceptions=False)

    result = run("--out", str(tmp_path / "out"))
    assert result.output.strip() == str(tmp_path / "out" / "board.html")
    plain = json.loads(run("--out", str(tmp_path / "none"), "--json").output)
    assert not (tmp_path / "none").exists()
    text = (tmp_path / "out" / "board.html").read_text(encoding="utf-8")
    assert json.loads(re.search(r'id="data">(.*?)</script>', text)[1]) == plain


def test_book_that_changed_since_its_check(lived_book, tmp_path):
    """The board is not made from flags that are older than the book."""
    shutil.copytree(lived_book, tmp_path / "book")
    with open_book(tmp_path / "book", writing=True) as book:
        book.execute("UPDATE derived.made_from SET fingerprint = 'another'")
    with pytest.raises(GaugebookError, match="changed since it was checked"):
        CliRunner().invoke(board_command, [], obj=tmp_path / "book", catch_exceptions=False)


# That it works in a browser

RECOVERY = "Stripping recovery, S2, rye-oat mash"
PLOT = ".measure:not([hidden]) .chart:last-of-type .plot"


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
    assert walked[2:] == ["Print this part", "Print all", "In hand", "Batches", "Flags", "Trends", "Runs"]
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


def test_flags_by_age_choose_the_list(opened):
    """A cell of the ages lists its flags; each is heard with its number; the form narrows further."""
    opened.go("flags")
    names = [node["name"] for node in opened.read_aloud() if node["role"] == "button"]
    assert f"8 flags, {STOPS}, 1 to 4 weeks; 8 open" not in names  # raised on one day: first by the day of the record
    opened.click_on('#ages input[value="0"] + span')
    names = [node["name"] for node in opened.read_aloud() if node["role"] == "button"]
    assert f"15 flags, {TO_EXPLAIN}, 1 to 4 weeks; 13 open" in names
    opened.js("document.querySelector('#ages tbody tr:nth-child(2) button').click()")
    opened.settle()
    shown = "[...document.querySelectorAll('#flag-table tbody tr')].filter(r => !r.hidden)"
    assert opened.js(f"{shown}.length") == 15
    opened.click_on('#flags input[value="accepted"] + span')
    assert opened.js(f"{shown}.map(r => r.innerText.includes('seen and accepted'))") == [True]
    assert opened.js("document.querySelector('#flags output').textContent") == "1 row of 49"


def test_batches_by_state(opened):
    """The form chooses batches by state; a batch opens with its decision and its dossier."""
    opened.go("batches")
    opened.click_on('#batches input[value="released"] + span')
    assert opened.js("[...document.querySelectorAll('#batch-table tbody tr')].filter(r => !r.hidden).length") == 1
    assert opened.js("[...document.querySelectorAll('.shelf tbody th')].map(h => h.textContent)") == [
        "waiting", "held", "released", "rejected"
    ]  # fmt: skip
    opened.js("document.querySelector('.shelf a[aria-label^=VOD-2511A]').click()")
    opened.settle()
    said = opened.js("document.getElementById('batch').innerText")
    assert "released" in said and "as the panel found" in said and focused(opened) == "batch-title"
    assert opened.js("document.querySelector('#batch a[href$=\".pdf\"]').getAttribute('href')") == "VOD-2511A.pdf"


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

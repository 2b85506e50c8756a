"""The board: what it gathers, and that it is one safe page."""

import dataclasses
import json
import re
import shutil
from datetime import timedelta
from html.parser import HTMLParser

import pytest
from click.testing import CliRunner

from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.errors import GaugebookError
from gaugebook.pipeline.intake.flow import profile_in_force
from gaugebook.reports.board import board_curves
from gaugebook.reports.board.board import age_class, days_to, gather_board
from gaugebook.reports.board.board_command import board_command
from gaugebook.reports.board.board_curves import thinned
from gaugebook.reports.board.board_data import board_data
from gaugebook.reports.board.board_page import board_html, embedded
from gaugebook.reports.board.work_in_progress import work_in_progress
from gaugebook.reports.trends.events import changed_charts, events, headline

DECIDED = {"VOD-2609A": "released", "GIN-2603A": "held", "AKV-2609B": "rejected"}
STOPS, TO_EXPLAIN = "stops release", "needs explanation"
LATER = timedelta(days=10)


@pytest.fixture(scope="module")
def board(lived_book, out):
    """The last three months of that book."""
    with open_book(lived_book) as book:
        return gather_board(book, profile_in_force(book), out, months=3)


@pytest.fixture(scope="module")
def data(board):
    return board_data(board)


@pytest.fixture(scope="module")
def page(board):
    return board_html(board)


# What it gathers


def test_every_state_is_there(data):
    """Each batch stands with the decision in force; those without one wait, counted to the last check."""
    states = {batch["code"]: batch["state"] for batch in data["batches"] if batch["state"] != "waiting"}
    assert states == DECIDED
    released = next(batch for batch in data["batches"] if batch["code"] == "VOD-2609A")
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
    at = board.checked_at
    assert days_to(at, None) is None
    assert days_to(at, at + timedelta(hours=3)) == 0


def test_counts_of_changes_agree(board, data, page):
    """Board, its list of charts and the first page of the trends tell of as many changes, charts and single runs."""
    hand = work_in_progress(data)
    trends = board.trends
    assert hand["look"] == headline(trends)
    assert len(hand["changes"]) == len(events(trends)) + len(trends.lone_runs) > 1
    assert page.count('data-said="changed"') == page.count("<b>Changed.</b>") == len(changed_charts(trends))
    assert f"seen on {len(changed_charts(trends))} charts" in hand["look"]
    linked = {item["slug"] for change in hand["changes"] for item in (change, *change["also"])}
    assert linked == {chart["slug"] for chart in data["charts"] if chart["said"]}


def test_a_product_is_named_as_what_it_is(data):
    """Only what a still cut is called hearts: a reduction makes spirit, a filtration a liquid, a bottling bottles."""
    names = {}
    for run in data["runs"]:
        names.setdefault(run["stage"], set()).update(name for name, words in run["facts"] if "LPA" in words)
    common = {"charged", "not found again"}
    assert {stage: told - common for stage, told in names.items() if stage not in ("mash", "ferment")} == {
        "strip": {"hearts"}, "rectify": {"rectified spirit"}, "botanical": {"distillate"}, "steep": {"liquid"},
        "reduce": {"spirit"}, "filter": {"liquid"}, "bottle": {"bottled spirit"},
    }  # fmt: skip


def test_in_hand_is_what_is_open(data):
    """What waits is neither released nor rejected; what was explained need not be explained again."""
    hand = work_in_progress(data)
    waiting = [data["batches"][n]["code"] for _, _, places in hand["waiting"] for n in places]
    assert len(waiting) == 45 and not {"VOD-2609A", "AKV-2609B"} & set(waiting) and "GIN-2603A" in waiting
    open_ = [data["flags"][n] for n in hand["open"]]
    assert {flag["state"] for flag in open_} == {"open"}
    assert [flag["severity"] for flag in open_] == [STOPS] * 8 + [TO_EXPLAIN] * (len(open_) - 8)
    assert len(open_) == sum(flag["severity"] != "for information" for flag in data["flags"]) - 2


def test_points_lead_to_runs_and_batches(data, lived_book):
    """Each point names its run; runs lead to the batches that they went into, by the book's lineage."""
    recovery = next(chart for chart in data["charts"] if chart["title"].startswith("Stripping recovery, S2, rye"))
    runs = [data["runs"][n] for n in recovery["run"]]
    assert all(run["stage"] == "strip" and run["equipment"] == "S2" for run in runs)
    assert [run["end"] for run in runs] == recovery["at"]
    assert all(run["curve"] is not None for run in runs)
    with open_book(lived_book) as book:
        sql = "SELECT DISTINCT batch FROM derived.lineage WHERE run = ? ORDER BY batch"
        lineage = book.frame(sql, [runs[0]["code"]])["batch"].to_list()
    assert sorted(data["batches"][n]["code"] for n in runs[0]["batches"]) == lineage != []


def test_dossiers_are_linked_where_they_lie(data):
    """A dossier is linked relative to the board, and only where there is one."""
    linked = {batch["code"]: batch["dossier"] for batch in data["batches"] if batch["dossier"]}
    assert linked == {"VOD-2609A": "VOD-2609A.pdf", "GIN-2603A": "dossiers/GIN-2603A.pdf"}


def test_long_names_have_exact_addresses(board, out):
    """What lets a long name break on the page does not get into the addresses of its pages and of its dossier, nor does
    it show itself."""
    code = "VODKA" * 12
    made = dataclasses.replace(board, batches=(board.batches[0] | {"batch": code},), dossiers={code: f"{code}.pdf"})
    batch, page = board_data(made)["batches"][0], board_html(made)
    assert (batch["slug"], batch["dossier"]) == (code, f"{code}.pdf")
    assert f'<a href="#batch/{code}">' in page and f'<a href="{code}.pdf">' in page
    assert "[U+200B]" not in page and code[:20] + "\u200b" in page


def test_only_late_runs_one_by_one(lived_book, tmp_path):
    """With fewer months there are fewer runs, but no fewer months on the charts, and what waits stays."""
    with open_book(lived_book) as book:
        short = board_data(gather_board(book, profile_in_force(book), tmp_path, months=1))
    assert {run["ended"][:7] for run in short["runs"] if not run["flags"]} == {"2026-10"}
    codes = {batch["code"] for batch in short["batches"]}
    assert "GIN-2603A" in codes and "VOD-2609A" not in codes  # held, and released in an earlier month
    assert max(len(chart["months"]) for chart in short["charts"]) == 13


@pytest.mark.parametrize("most", [2, 4, 20, 200])
def test_thinning_keeps_the_peaks(most):
    """However few points are kept, the ends and the greatest value are among them."""
    points = [(n / 10, 50.0 + n % 7) for n in range(500)]
    points[333] = (33.3, 99.0)
    kept = thinned(points, most)
    assert kept[0] == points[0] and kept[-1] == points[-1] and (33.3, 99.0) in kept
    assert len(kept) <= most + 2


def test_older_curves_give_way(board, monkeypatch):
    """Where a page has no room for all curves, the newest have one, and the older ones say that they have none."""
    monkeypatch.setattr(board_curves, "ROOM", 20_000)
    places, curves = board_curves.packed_curves(board.curves)
    newest_first = [places[run] for run in reversed(board.curves)]
    assert newest_first[: len(curves)] == list(range(len(curves))) and 0 < len(curves) < len(places)
    assert set(newest_first[len(curves) :]) == {-1}
    assert len(json.dumps(curves[:-1], separators=(",", ":"))) < 20_000


# That it is one safe page


def test_same_book_same_bytes(board, page):
    """No clock is read: the same book gives the same page."""
    assert board_html(board) == page


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
    seen = _Reader(page).seen
    addresses = {attributes[name] for _, attributes in seen for name in ("src", "href", "action") if name in attributes}
    assert {address for address in addresses if not address.startswith("#")} == {
        "data:,", "VOD-2609A.pdf", "dossiers/GIN-2603A.pdf"
    }  # fmt: skip
    [policy] = [a["content"] for _, a in seen if a.get("http-equiv") == "Content-Security-Policy"]
    assert policy.startswith("default-src 'none';") and "unsafe" not in policy and "http" not in policy
    assert not [tag for tag, attributes in seen if "style" in attributes or any(n.startswith("on") for n in attributes)]


HOSTILE = '</script><img src=x onerror="document.title=1">\u2028"&\u202e'


@pytest.fixture(scope="module")
def hostile(board, out):
    """A board whose batch, run, flag, person and house have names that would like to be code."""
    made = board
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
    trends = dataclasses.replace(board.trends, charts=(), findings=(), lone_runs=(), breakdowns=())
    empty = dataclasses.replace(board, batches=(), flags=(), runs=(), curves={}, trends=trends, last=None)
    (tmp_path / "empty.html").write_text(board_html(empty), encoding="utf-8")
    browser.open(tmp_path / "empty.html")
    said = {
        "in-hand": "no batches wait", "batches": "No batch is bottled", "flags": "Nothing is flagged",
        "trends": "There are no ended runs", "measure/x": "has no measure \"x\"",
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
        book.execute("UPDATE derived.build_state SET fingerprint = 'another'")
    with pytest.raises(GaugebookError, match="changed since it was checked"):
        CliRunner().invoke(board_command, [], obj=tmp_path / "book", catch_exceptions=False)

"""The casks of a batch as drawn: a column each, what lies outside its band, and the same in words."""

import dataclasses
import re
from types import SimpleNamespace

import pytest
from cask_house import CASKS, OPENING, cask_book, event, filled

from gaugebook.checks.run import run_checks
from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.house.profile_in_force import profile_in_force
from gaugebook.pipeline.typed.casks import TREATMENTS, WOODS
from gaugebook.reports.dossier.batch import gather_batch
from gaugebook.reports.dossier.cask_figure import cask_chart
from gaugebook.reports.dossier.casks import CaskBehind
from gaugebook.reports.dossier.dossier import dossier_html
from gaugebook.reports.page.language import language

ENGLISH, GERMAN = language("en"), language("de")
BLANK = CaskBehind(**{field.name: None for field in dataclasses.fields(CaskBehind)} | {"is_outlier": False})
DIAMOND, SQUARE = "M0,-1.25", "M-0.9,-0.9"
BATCH, BATCH_RUN = "B-1", "BOT-1"


def cask(number: int, **known) -> CaskBehind:
    """A cask of four years that lost 4 % a year, as casks like it do, but for what is said of it."""
    usual = {"per_year": 0.04, "u_per_year": 0.001, "usual_per_year": 0.038, "u_usual_per_year": 0.0003,
             "scatter_per_year": 0.004, "years": 4, "months": 0, "days": 5}  # fmt: skip
    return dataclasses.replace(BLANK, contents=f"C{number}/1", cask=f"C{number}", **usual | known)


def chart_of(*casks: CaskBehind, speaks=ENGLISH):
    return cask_chart(SimpleNamespace(casks=casks), speaks)


def heights(svg: str) -> list[float]:
    """Where the dots and diamonds stand, from the top."""
    shapes = re.findall(r'translate\(([\d.]+),([\d.]+)\) scale\(([\d.]+)\)" d="(M1,0A|M0,-1\.25)', svg)
    return [float(y) for _, y, _, _ in shapes]


def test_a_cask_that_loses_more_stands_higher_and_is_named():
    """Its mark is a diamond above the others, and the words say which it is, and from where to where all lie."""
    chart = chart_of(cask(1), cask(2, per_year=0.09, is_outlier=True), cask(3))
    dots = heights(chart.svg)
    assert len(dots) == 3
    assert dots[1] < min(dots[0], dots[2])
    assert chart.svg.count(f'd="{DIAMOND}') == 1
    [title] = re.findall("<title>(.*?)</title>", chart.svg)
    assert title == (
        "3 casks behind this batch. Youngest: 4\u00a0y 0\u00a0m 5\u00a0d (C1/1). Lost a year: 4.0 % to 9.0 % of the "
        "alcohol. Outside the band of casks like it: C2/1."
    )


def test_all_within_is_said():
    """Where no cask is off, the words say so and there is no diamond."""
    chart = chart_of(cask(1), cask(2))
    assert DIAMOND not in chart.svg
    assert "None lies outside the band of casks like it." in chart.svg


def test_the_band_is_twice_the_scatter_of_casks_like_it():
    """Band 3.0 to 4.6 %: usual 3.8 ± 2 sqrt(0.4² + 0.03²); dots at its edges touch it, in the scale of the drawing."""
    low, high = 0.038 - 2 * (0.004**2 + 0.0003**2) ** 0.5, 0.038 + 2 * (0.004**2 + 0.0003**2) ** 0.5
    chart = chart_of(cask(1, per_year=low), cask(2, per_year=high))
    [(top, tall)] = re.findall(r'y="([\d.]+)" width="60" height="([\d.]+)" fill="#dedede"', chart.svg)
    lower, upper = heights(chart.svg)
    assert float(top) == pytest.approx(upper, abs=0.02)
    assert float(top) + float(tall) == pytest.approx(lower, abs=0.02)


def test_what_is_not_on_record_is_an_open_square():
    """A cask not gauged since filling, and one whose age is not known, are drawn and said to be so, never left out."""
    chart = chart_of(cask(1), cask(2, per_year=None), cask(3, years=None))
    assert chart.svg.count(f'd="{SQUARE}') == 2
    assert "not gauged since filling" in chart.caption and "time in wood not on record" in chart.caption
    assert "not gauged" not in chart_of(cask(1)).caption


def test_without_ages_and_rates_there_is_no_figure():
    """Nothing to draw is no empty drawing."""
    assert chart_of(cask(1, per_year=None, years=None)) is None


def test_many_casks_are_put_together():
    """Of 500 casks a column stands for five; one outside the band among them is still seen, and the least age."""
    casks = [cask(n) for n in range(500)]
    casks[77] = cask(77, per_year=0.2, is_outlier=True, years=3)
    chart = chart_of(*casks)
    assert len(heights(chart.svg)) == 100
    assert chart.svg.count(f'd="{DIAMOND}') == 1
    assert "stands for 5 casks" in chart.caption
    assert ">C77/1</text>" in chart.svg and "C77/1." in chart.svg  # beside its mark, and in the words
    assert len(chart.svg) < 100_000


@pytest.mark.parametrize("speaks", [ENGLISH, GERMAN])
def test_choices_of_ours_are_in_every_catalogue(speaks):
    """Woods and treatments of the register, and "new", have a word in each language."""
    assert {f"wood.{wood}".replace("other", "another wood") for wood in WOODS} <= speaks.texts.keys()
    assert {f"treatment.{treatment}" for treatment in TREATMENTS} <= speaks.texts.keys()
    assert "former.new" in speaks.texts


@pytest.fixture(scope="module")
def batch_of_casks(tmp_path_factory):
    """A batch from two casks: one from before the book, topped since, and one filled here; and its profile."""
    register = [CASKS[0] | {"treatment": "charred", "char_level": 4, "former_contents": "new"},
                CASKS[2] | {"wood": "european oak", "treatment": "toasted", "former_contents": "sherry"}]  # fmt: skip
    bottled = {"run": BATCH_RUN, "part": "spirit", "vessel": "T2", "volume_at_t_l": 100, "volume_temperature_c": 20,
               "strength_reading": 60, "reading_kind": "pct_vol_20c"}  # fmt: skip
    folder = cask_book(
        tmp_path_factory.mktemp("casks"),
        opening_stock=[OPENING[0] | {"aged_from": "2024-01-01"}, OPENING[1]],
        casks=register,
        cask_events=[
            filled("C1", 100, "2024-01-10", run="FILL-1"),
            filled("C9", 5, "2024-03-10", run="TOP-1"),
            event("C1", "emptied", "2026-01-10", run="DUMP-1", lot="VAT-1", volume_at_t_l=96, strength_reading=61),
            event("C9", "emptied", "2026-01-10", run="DUMP-1", lot="VAT-1", volume_at_t_l=140, strength_reading=61),
        ],
        movements=[
            bottled | {"run": "DUMP-1", "direction": "out", "lot": "VAT-1", "gauged_at": "2026-01-10",
                       "volume_at_t_l": 235, "strength_reading": 61},
            bottled | {"direction": "in", "lot": "VAT-1", "gauged_at": "2026-01-11"},
            {"run": BATCH_RUN, "direction": "out", "lot": BATCH, "part": "bottles", "gauged_at": "2026-01-11"},
        ],
        runs=[{"run": "DUMP-1", "stage": "dump", "equipment": "T2", "started_at": "2026-01-10",
               "ended_at": "2026-01-10", "operator": "AB"},
              {"run": BATCH_RUN, "stage": "bottle", "equipment": "LINE", "product": "WHISKY",
               "started_at": "2026-01-11", "ended_at": "2026-01-11", "operator": "AB"}],
        bottling=[{"lot": BATCH, "run": BATCH_RUN, "product": "WHISKY", "bottled_at": "2026-01-11", "nominal_ml": 500,
                   "label_strength_pct_vol": 60, "bottles_filled": 190, "bottles_rejected": 0, "operator": "AB"}],
    )  # fmt: skip
    with open_book(folder, writing=True) as book:
        run_checks(book)
        return gather_batch(book, profile_in_force(book), BATCH)


def test_a_cask_from_before_that_was_topped_stands_once(batch_of_casks):
    """Two fillings, each with the day on which it began."""
    assert [(c.contents, f"{c.filled_at:%Y-%m-%d}") for c in batch_of_casks.casks] == [
        ("C1/1", "2024-01-10"), ("C9/1", "2024-01-01"),
    ]  # fmt: skip


def test_a_german_dossier_speaks_german_of_casks(batch_of_casks):
    """Wood, treatment and "new" in German; what the house wrote itself stays as it is."""
    house = batch_of_casks.house
    german = dataclasses.replace(house, documents=dataclasses.replace(house.documents, language="de"))
    page = dossier_html(dataclasses.replace(batch_of_casks, house=german))
    table = page[page.index('id="casks"') : page.index('id="reduction"')]
    for words in ("Amerikanische Eiche, ausgebrannt (Stufe 4)", "Europäische Eiche, getoastet", ">neu<", ">sherry<"):
        assert words in table
    for words in ("american oak", "charred", "toasted", ">new<"):
        assert words not in table


def test_the_table_says_what_the_figure_shows(batch_of_casks):
    """Age, rate with U and what is usual stand in the table of the casks, in the order of the columns."""
    page = dossier_html(batch_of_casks)
    table = page[page.index('id="casks"') : page.index('id="reduction"')]
    rows = re.findall(r"<tr><th scope=\"row\">(.*?)</tr>", table, re.DOTALL)
    assert [row.split("<")[0] for row in rows] == ["C1/1", "C9/1"]
    assert "2\u00a0y 0\u00a0m 0\u00a0d" in rows[0]
    assert "<figure><svg" in table and "Time in wood" in table

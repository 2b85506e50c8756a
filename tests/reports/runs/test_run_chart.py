"""The figure of a run: cuts of both kinds at their hours, labels apart, the band behind, honest captions."""

import re
from dataclasses import replace
from datetime import datetime
from itertools import combinations

import pytest

from gaugebook.pipeline.derived.curves.records import FLOW, PARROT, POT, STRENGTH, VAPOUR
from gaugebook.reports.page.drawing import SMALL
from gaugebook.reports.page.fonts import width
from gaugebook.reports.page.language import language
from gaugebook.reports.runs.run_chart import BAND, CURVE_INK, MOST_FINDINGS, SHEET_DASH, clock, panels_of, run_chart
from gaugebook.reports.runs.run_figures import BandLine, CutMark, FindingMark, RunFigure
from gaugebook.reports.runs.run_views import MOST_FULL, band_sentence, describe_band, full_view, run_views

ENGLISH, GERMAN = language("en"), language("de")
HOURS = tuple(n / 20 for n in range(161))
FIGURE = RunFigure(
    run="R-1",
    equipment="S1",
    log_started_at=datetime(2031, 3, 3, 6),
    hours=8.0,
    rows=161,
    series={
        POT: tuple((h, min(20 + 75 * h, 95 + 0.5 * h)) for h in HOURS),
        VAPOUR: tuple((h, 20.0 if h < 1 else 78.4 + max(0.0, h - 5) * 6) for h in HOURS),
        STRENGTH: tuple((h, 92.0 - max(0.0, h - 5) * 25) for h in HOURS if h >= 1),
        FLOW: tuple((h, 0.0 if h < 1 else 90.0 - 8 * h) for h in HOURS),
    },
    set_aside={VAPOUR: ((2.0, 130.0), (2.0, None))},
    phases={"heating": 0.0, "first drop": 1.0, "end": 8.0},
    cuts=(CutMark("to hearts", 1.2, 1.21, 0.03, "receivers"), CutMark("to tails", 6.0, 5.5, 0.05, "change of flow")),
    clock_off_min=0.0,
    band={FLOW: BandLine((1.0, 4.0, 8.0), (80.0, 50.0, 10.0), (100.0, 70.0, 30.0))},
    band_standing="within",
    band_runs=12,
    distance=0.9,
    distance_limit=1.8,
    findings=(),
)
LEFT, RIGHT = 34.0, 480.0 - 42.0  # the axis of eight hours


def crowd(number: int) -> tuple[FindingMark, ...]:
    """So many findings within half an hour."""
    return tuple(FindingMark("stuck", VAPOUR, 4.0 + n / 40, 4.4 + n / 40, "78.4 for 24 min") for n in range(number))


def words_of(svg: str) -> list[tuple[float, float, str, str]]:
    """Every text: x, base line, anchor, words; text that is turned left out."""
    told = []
    for attributes, words in re.findall(r"<text ([^>]*)>([^<]*)</text>", svg):
        has = dict(re.findall(r'([\w-]+)="([^"]*)"', attributes))
        if "transform" not in has:
            told.append((float(has["x"]), float(has["y"]), has.get("text-anchor", "start"), words))
    return told


def test_both_kinds_of_cut_stand_at_their_hours():
    """The curve's broad and grey, the sheet's dashed; both with their words and time of day."""
    svg = str(run_chart(FIGURE, "UTC", ENGLISH))
    grey = {float(x) for x in re.findall(rf'M([\d.]+),[\d.]+L\1,[\d.]+" fill="none" stroke="{CURVE_INK}"', svg)}
    dashed = {float(x) for x in re.findall(rf'M([\d.]+),[\d.]+L\1,[^>]*dasharray="{SHEET_DASH}"', svg)}

    at = lambda hour: pytest.approx(LEFT + (RIGHT - LEFT) * hour / 8, abs=0.01)  # noqa: E731
    assert sorted(grey) == [at(1.21), at(5.5)]
    assert sorted(dashed) == [at(1.2), at(6.0)]
    told = [words for *_, words in words_of(svg)]
    assert {"to hearts", "to tails", "sheet 07:12", "sheet 12:00", "curve 11:30 ± 3 min"} <= set(told)


@pytest.mark.parametrize("number", [0, 1, 4, 15])
def test_no_two_texts_of_a_figure_overlap(number):
    """Boxes of all level texts, as wide as the face sets them, also with fifteen findings in one place."""
    svg = str(run_chart(replace(FIGURE, findings=crowd(number)), "UTC", ENGLISH))
    boxes = []
    for x, y, anchor, words in words_of(svg):
        wide = width(words, SMALL)
        left = x - {"start": 0.0, "middle": wide / 2, "end": wide}[anchor]
        boxes.append((left, left + wide, y - 5.0, y + 1.0, words))

    assert sum(words[:1].isdigit() and "stuck" in words for *_, words in boxes) == number
    for one, other in combinations(boxes, 2):
        apart = one[1] <= other[0] or other[1] <= one[0] or one[3] <= other[2] or other[3] <= one[2]
        assert apart, (one, other)


def test_more_findings_than_labels_are_told():
    """Fifteen have labels, the rest a sentence with the command that lists them."""
    view = full_view(replace(FIGURE, findings=crowd(MOST_FINDINGS + 3)), "UTC", ENGLISH)

    assert len(view.findings) == MOST_FINDINGS + 1
    assert view.findings[-1].unescape() == '3 more findings; "gaugebook run R-1" lists them'


def test_the_band_lies_behind_the_line():
    """The grey area comes before the line of its panel, with the run's own hours."""
    svg = str(run_chart(FIGURE, "UTC", ENGLISH))
    band = re.search(rf'<path d="M([\d.]+),[^"]*" fill="{BAND}"/>', svg)

    assert float(band[1]) == pytest.approx(LEFT + (RIGHT - LEFT) / 8, abs=0.01)
    assert band.start() < svg.rindex('stroke-width="0.9"')
    assert BAND not in str(run_chart(replace(FIGURE, band={}), "UTC", ENGLISH))


def test_captions_say_what_is_shown():
    """Sensors, units' sources, rows, kinds of line, band."""
    caption = full_view(FIGURE, "UTC", ENGLISH).caption

    for words in ("161 rows", "temperatures of pot and vapour [°C]", "to tails by change of flow", "± U (k = 2)",
                  "12 good runs", "within the limit of 1.80", "set aside"):  # fmt: skip
        assert words in caption
    assert "stretches" not in caption  # 161 rows are drawn whole


@pytest.mark.parametrize("standing", ["within", "left"])
def test_a_band_without_a_chart_is_told_without_its_grey_area(standing):
    """Below the chart a sentence says which area it is of; the text of a run has none, in any wording or language."""
    banded = replace(FIGURE, band_standing=standing)
    for code in ("en", "de"):
        band = describe_band(banded, language(code))
        assert band[0].isdigit()
        assert band_sentence(banded, language(code)) == language(code).say("log.grey_area", band=band)


def test_a_new_recipe_says_that_there_is_no_band_yet():
    """With how many runs there are and how many it takes."""
    new = replace(FIGURE, band={}, band_standing="no band yet", band_runs=3, distance=None, distance_limit=None)

    assert band_sentence(new, ENGLISH) == "No band yet: 3 other good runs of this still and recipe, and a band takes 8."


def test_cuts_that_are_not_known_are_not_drawn():
    """Neither line nor words; the caption says so."""
    unknown = replace(
        FIGURE, cuts=(CutMark("to hearts", None, None, None, None), CutMark("to tails", None, None, None, None))
    )
    svg = str(run_chart(unknown, "UTC", ENGLISH))

    assert "to hearts" not in svg
    assert f'"{SHEET_DASH}"' not in svg
    assert (
        "The curve does not show its cuts. No cuts are on the run sheet." in full_view(unknown, "UTC", ENGLISH).caption
    )


def test_a_still_without_parrot_or_thermometer_of_it():
    """No strength panel without a parrot; its reading, and the word uncorrected, without its temperature."""
    series = {tag: points for tag, points in FIGURE.series.items() if tag != STRENGTH}
    bare, read = replace(FIGURE, series=series), replace(FIGURE, series={**series, PARROT: FIGURE.series[STRENGTH]})

    assert [panel.axis for panel in panels_of(bare)] == ["pot_axis", "head_axis", "flow_axis"]
    assert "parrot_axis" in [panel.axis for panel in panels_of(read)]
    assert "uncorrected" in full_view(read, "UTC", ENGLISH).caption


def test_few_runs_are_shown_at_full_size_and_many_side_by_side():
    """Of twelve, all small in one figure, and at full size those three that lie farthest from the good runs."""
    runs = [replace(FIGURE, run=f"R-{n}") for n in range(12)]
    off = [replace(run, findings=crowd(1), distance=float(n)) if n > 7 else run for n, run in enumerate(runs)]

    assert len(run_views(runs[:2], "UTC", ENGLISH)) == 2
    quiet = run_views(runs, "UTC", ENGLISH)
    assert len(quiet) == 1
    assert "Nothing was found in these logs" in quiet[0].caption
    late = run_views([replace(runs[0], clock_off_min=-57.0), *runs[1:]], "UTC", ENGLISH)[0].caption
    assert "Of R-0 the sheet's cuts are moved by −57 min" in late
    assert "Nothing was found" not in late
    small, *full = run_views(off, "UTC", ENGLISH)
    assert str(small.svg).count("M0,-1.25") == 4  # a diamond each
    assert len(full) == MOST_FULL
    assert [view.caption.split(" ")[0] for view in full] == ["R-9", "R-10", "R-11"]
    assert "not shown at full size: R-8 " in small.caption


@pytest.mark.parametrize(("minutes", "told"), [(0.4, "06:00"), (0.6, "06:01"), (59.7, "07:00")])
def test_a_time_is_told_to_the_nearest_minute(minutes, told):
    """Half a minute before seven is seven, not six fifty-nine."""
    assert clock(FIGURE, minutes / 60, "UTC") == told


def test_another_language_says_all_of_its_own():
    """A German figure has German words; what a finding tells is data of the rule book's kind, and marked as English."""
    view = full_view(replace(FIGURE, findings=crowd(1)), "UTC", GERMAN)

    told = {words for *_, words in words_of(str(view.svg))}
    assert {"Mittellauf", "Laufblatt 07:12", "Kurve 11:30 ± 3 min", "1 hängt: Dampf"} <= told
    assert '<span lang="en">78.4 for 24 min</span>' in view.findings[0]
    assert "innerhalb der Grenze von 1,80" in view.caption

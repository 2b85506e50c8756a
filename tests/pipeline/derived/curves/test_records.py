"""A curve kept as text: what is written, and that it comes back field by field."""

import json
import math

import numpy as np

from gaugebook.pipeline.derived.curves.records import Cut, PartOfCurve, RunCurve, from_json, to_json
from gaugebook.pipeline.statistics.log_finding import Finding

CURVE = RunCurve(
    points=3, interval_s=60.0, first_drop_s=1.5, hearts_from=Cut(600.0, 2.0, "receivers"), stages_needed=math.inf,
    stages_available=7.0, likely_wrong="pot_temperature_c",
    parts=(PartOfCurve("hearts", 1.0, 2.0, 3.0, 4.0, math.nan, math.nan, 0.5, 0.25),),
    findings=(Finding("gap", None, 1.0, 2.0, 3.0, "words", may_be_clock_step=True),),
    profile={"pot_temperature_c": (1.0, math.nan, 3.0)},
)  # fmt: skip


def test_what_is_no_number_is_null_and_no_end_is_a_word():
    """JSON knows neither (RFC 8259, section 6); numbers of arrays are plain ones."""
    written = json.loads(to_json(CURVE))

    assert written["end_s"] is None
    assert (written["stages_needed"], written["stages_available"]) == ("infinite", 7.0)
    assert written["parts"][0]["alcohol_l"] is None
    assert written["profile"] == {"pot_temperature_c": [1.0, None, 3.0]}
    assert " " not in to_json(CURVE).replace("words", "")
    assert json.loads(to_json(RunCurve(1, np.float64(2.0))))["interval_s"] == 2.0


def test_a_curve_comes_back():
    """Cuts, parts and findings as records, a cut that was not found without a time; NaN where there was none."""
    back = from_json(to_json(CURVE))

    assert (back.points, back.first_drop_s, back.stages_needed, back.stages_available) == (3, 1.5, math.inf, 7.0)
    assert math.isnan(back.end_s) and math.isnan(back.hearts_to.at_s)
    assert (back.hearts_from, back.hearts_to.by) == (Cut(600.0, 2.0, "receivers"), "")
    assert back.findings == CURVE.findings
    assert (back.parts[0].part, back.parts[0].bridged_part) == ("hearts", 0.5) and math.isnan(back.parts[0].alcohol_l)
    assert back.profile["pot_temperature_c"][::2] == (1.0, 3.0) and math.isnan(back.profile["pot_temperature_c"][1])
    assert back.likely_wrong == "pot_temperature_c"
    assert to_json(back) == to_json(CURVE)

"""How unsure the time of a cut is that the receivers tell by alcohol, on a run that can be added up: an hour of 60 L/h
at 80 % vol by the parrot, a row a minute."""

import numpy as np
import pytest

from gaugebook.pipeline.derived.curves.averaged_log import Course
from gaugebook.pipeline.derived.curves.cuts import cuts
from gaugebook.pipeline.derived.curves.records import Circumstances, Gauged
from gaugebook.pipeline.engineering.run_curve import collected
from gaugebook.pipeline.statistics.phases import Phases

TIMES = 60.0 * np.arange(61)
WHEN = Phases(-1800.0, -600.0, 0.0, 17.0, 3600.0, 17.0, 2.0)
FLOW = "distillate_flow_l_h"


def test_a_parrot_is_unsure_towards_the_stronger():
    """The tails, of which only the alcohol is known, hold 8 LPA and lost 1 %: 8.0808 LPA ran before the end.

    At 80 % vol those are 10.1010 L, 606.06 s at 60 L/h; at 85 % vol, a standard uncertainty more, 570.41 s, so 35.65 s
    apart. (At 75 % vol it were 40.40 s.) Beside it stands what gauge and flow leave: u of 8.0808 LPA is
    hypot(0.016, 8.0808 hypot(0.01, 0.006)) = 0.0956 LPA, 7.17 s.
    """
    flow, strength = np.full(61, 60.0), np.full(61, 80.0)
    course = Course(TIMES, {FLOW: flow}, strength, np.full(61, 0.2), collected(TIMES, flow, strength, None), [])
    tails = Gauged(alcohol_l=8.0, u_alcohol_l=0.0)

    _, cut = cuts(course, WHEN, Circumstances(gauged={"tails": tails}, u_flow_part=0.01, u_strength_pct_vol=5.0))

    ran = 8.0 / 0.99
    of_gauge = 60.0 * np.hypot(0.016, ran * np.hypot(0.01, 0.006)) / 0.8
    assert cut.at_s == pytest.approx(3600.0 - 60.0 * ran / 0.8, rel=1e-4)
    assert cut.u_s == pytest.approx(np.hypot(of_gauge, 60.0 * (ran / 0.8 - ran / 0.85)), rel=2e-3)
    assert cut.u_s == pytest.approx(np.hypot(7.17, 35.65), rel=2e-3)

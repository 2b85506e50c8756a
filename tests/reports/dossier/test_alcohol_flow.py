"""The flow of alcohol: nothing lost between the table and the drawing, heights to one scale."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gaugebook.reports.dossier.alcohol_flow import flow_figure, flow_steps, litres_per_cm
from gaugebook.reports.dossier.records import Balance
from gaugebook.reports.page.language import language

ENGLISH = language("en")


def balance(run: str, taken: float, heads: float, hearts: float, tails: float, spent: float, loss: float) -> Balance:
    """A balance with these litres and nothing else."""
    known = {
        "run": run, "alcohol_in_l": taken, "heads_l": heads, "hearts_l": hearts, "tails_l": tails, "spent_l": spent,
        "loss_l": loss,
    }  # fmt: skip
    return Balance(**dict.fromkeys(Balance.__dataclass_fields__) | known)


STRIP = balance("strip", 1000.0, 20.0, 900.0, 50.0, 10.0, 20.0)
RECTIFY = balance("rectify", 600.0, 30.0, 500.0, 60.0, 15.0, -5.0)
REDUCE = balance("reduce", 550.0, 0.0, 548.0, 0.0, 0.0, 2.0)
STEPS = flow_steps([("Strip", STRIP), ("Rectify", RECTIFY), ("Reduce", REDUCE)])


def test_what_does_not_go_on_is_named():
    """300 of the strip's 900 went elsewhere; the reduction took 50 from store; a gain is told as one (made up)."""
    sides = [dict(step.side) for step in STEPS]
    assert [step.onward for step in STEPS] == [600.0, 500.0, 548.0]
    assert sides[0] == {"heads": 20.0, "tails": 50.0, "spent": 10.0, "loss": 20.0, "elsewhere": 300.0}
    assert sides[1] == {"heads": 30.0, "tails": 60.0, "spent": 15.0, "gain": 5.0}
    assert sides[2] == {"from_store": 50.0, "loss": 2.0}


amounts = st.floats(0, 1e4)


@given(st.lists(st.tuples(st.floats(1, 1e5), amounts, amounts, amounts, amounts), min_size=1, max_size=8))
def test_every_litre_is_shown_once(stages):
    """What a stage took equals what goes on and what leaves, less a gain, whatever the stages."""
    balances = [
        balance(str(n), taken, heads, hearts, tails, spent, taken - heads - hearts - tails - spent)
        for n, (taken, heads, hearts, tails, spent) in enumerate(stages)
    ]
    for step in flow_steps([(item.run, item) for item in balances]):
        side = dict(step.side)
        store, gain = side.pop("from_store", 0.0), side.pop("gain", 0.0)
        assert step.onward + sum(side.values()) - gain == pytest.approx(step.taken, abs=1e-6)
        assert 0.0 <= store <= step.taken


def test_heights_are_litres_on_one_scale():
    """The black bars are as high as the charges, and the caption's centimetre is what it says."""
    svg = str(flow_figure(STEPS, ENGLISH))
    bars = [float(found) for found in re.findall(r'width="5" height="([\d.]+)" fill="#1a1a1a"', svg)]
    assert [bar / bars[0] for bar in bars] == pytest.approx([1.0, 0.6, 0.55], abs=0.001)
    assert bars[0] / 72 * 2.54 * litres_per_cm(STEPS) == pytest.approx(1000.0, rel=0.001)
    for words in ("Strip", "in 1,000.0 LPA", "elsewhere 300.0", "from store 50.0", "gain 5.0", "548.0 LPA"):
        assert words in svg


def test_what_would_be_printed_as_nothing_is_not_named():
    """A gain of a hundredth of a litre is no line "gain 0.0" of the list, though it is in the sums."""
    steps = flow_steps([("Reduce", balance("reduce", 280.0, 0.0, 280.01, 0.0, 0.0, -0.01))])
    assert dict(steps[0].side) == {"gain": 0.01}
    assert "gain" not in str(flow_figure(steps, ENGLISH))


def test_stages_without_alcohol_are_left_out():
    """A mash has no alcohol in, so it is no step; without any step there is no figure to draw."""
    mash = balance("mash", 0.0, 0.0, 0.0, 0.0, 0.0, 0.0)
    assert flow_steps([("Mash", mash)]) == ()

"""Shares of the scatter against ordinary least squares on indicators, written out."""

import numpy as np
import pytest
from pytest import approx
from scipy import stats

from gaugebook.pipeline.statistics.shares import attribute_shares


def indicators(levels):
    """A column a level and one for the mean; what that has too much, least squares takes no notice of."""
    names = sorted({name for row in levels for name in row})
    return np.column_stack([np.ones(len(levels)), *[[float(name in row) for row in levels] for name in names]])


def fitted(y, *attributes):
    """Adjusted share (Ezekiel) and chance by the F-test (scipy) of all attributes together; 0 where none is left."""
    design = np.column_stack([np.ones(len(y)), *[indicators(levels) for levels in attributes]])
    rank = np.linalg.matrix_rank(design) - 1
    if rank == 0 or len(y) - 1 - rank < 1:
        return 0.0, np.nan
    rest = y - design @ np.linalg.lstsq(design, y, rcond=None)[0]
    share = 1 - (rest @ rest) / ((y - y.mean()) @ (y - y.mean()))
    free = len(y) - 1 - rank
    return 1 - (1 - share) * (len(y) - 1) / free, stats.f.sf(share / rank / ((1 - share) / free), rank, free)


@pytest.mark.parametrize("seed", range(8))
def test_shares_are_those_of_least_squares(seed):
    """Alone, beside all others, the chance and the attributes that cannot be told apart, with runs of two malt lots."""
    rng = np.random.default_rng(seed)
    n = 30
    attributes = {
        "still": [[f"S{rng.integers(2)}"] for _ in range(n)],
        "malt": [sorted({f"M{rng.integers(4)}", f"M{rng.integers(4)}"}) for _ in range(n)],
        "operator": [[f"O{rng.integers(3)}"] if rng.random() < 0.8 else [] for _ in range(n)],
    }
    attributes["shift"] = [[f"T{row[0]}"] if rng.random() < 0.85 else ["T"] for row in attributes["still"]]
    y = rng.normal(size=n) + 1.5 * np.array([row == ["S1"] for row in attributes["still"]])
    alone = {name: fitted(y, levels) for name, levels in attributes.items()}

    found = {share.attribute: share for share in attribute_shares(y, attributes)}

    for name, share in found.items():
        others = [levels for other, levels in attributes.items() if other != name]
        unique = fitted(y, *attributes.values())[0] - fitted(y, *others)[0]
        assert (share.alone, share.unique) == approx((max(0.0, alone[name][0]), max(0.0, unique)))
        assert share.p == approx(alone[name][1])
        twins = []
        for other, levels in attributes.items():
            both = fitted(y, attributes[name], levels)[0]
            kept, theirs = both - alone[other][0], both - alone[name][0]
            telling = min(alone[name][0], alone[other][0]) >= 0.05
            if other != name and telling and (kept < 0.4 * alone[name][0] or theirs < 0.4 * alone[other][0]):
                twins.append(other)
        assert share.confounded_with == tuple(twins)
    assert list(found) == sorted(found, key=lambda name: -found[name].alone)


def test_one_and_the_same_level_tells_nothing():
    """Neither does an attribute that no run has, nor one that names single runs; two runs in three do group."""
    y = [1.0, 2.0, 4.0, 8.0, 16.0, 32.0]
    same, none, single = [["A"]] * 6, [[]] * 6, [[f"R{n}"] for n in range(6)]
    three = [["A"], ["A"], ["B"], ["B"], ["C"], ["C"]]
    four = [["A"], ["A"], ["B"], ["B"], ["C"], ["D"]]

    found = attribute_shares(y, {"same": same, "none": none, "single": single, "three": three, "four": four})

    assert [(share.attribute, share.levels) for share in found] == [("three", 3)]


def test_attributes_that_take_all_degrees_of_freedom_tell_nothing_together():
    """Of seven runs six columns leave none for the scatter: nothing is said of what each has beside the others."""
    rng = np.random.default_rng(2)
    attributes = {name: [[f"{name}{rng.integers(3)}"] for _ in range(7)] for name in "abc"}
    y = rng.normal(size=7)

    for share in attribute_shares(y, attributes):
        others = [levels for name, levels in attributes.items() if name != share.attribute]
        expected = fitted(y, *attributes.values())[0] - fitted(y, *others)[0]
        assert share.unique == approx(max(0.0, expected))


def test_values_that_are_alike_have_no_scatter_to_share():
    """Nought, and no chance."""
    [share] = attribute_shares([5.0] * 6, {"still": [["A"]] * 3 + [["B"]] * 3})

    assert (share.alone, share.unique) == (0.0, 0.0) and np.isnan(share.p)


def test_what_cannot_be_shared():
    """A missing value, and an attribute that is not as long as the values."""
    with pytest.raises(ValueError, match="left out"):
        attribute_shares([1.0, np.nan], {})
    with pytest.raises(ValueError, match="1 entries for 2 values"):
        attribute_shares([1.0, 2.0], {"still": [["A"]]})


def test_shares_do_not_hang_on_the_unit():
    """Grams or tonnes: the same shares."""
    rng = np.random.default_rng(4)
    still = [[f"S{n % 2}"] for n in range(12)]
    y = rng.normal(size=12) + np.arange(12) % 2
    for scale in (1e-6, 1e6):
        [plain], [other] = attribute_shares(y, {"still": still}), attribute_shares(scale * y, {"still": still})
        assert (other.alone, other.p) == approx((plain.alone, plain.p))


def test_levels_are_counted_where_runs_have_several():
    """Malts A and B, alone or together, are two levels, and three are three."""
    y = [1.0, 2.0, 4.0, 7.0, 5.0, 6.0, 3.0, 9.0, 8.0]
    two, three = [["A"], ["A", "B"], ["B"]] * 3, [["A"], ["A", "B"], ["B", "C"]] * 3

    assert {share.attribute: share.levels for share in attribute_shares(y, {"two": two, "three": three})} == {
        "two": 2, "three": 3,
    }  # fmt: skip


def test_what_every_run_has_is_no_level():
    """All have yeast A and half of them B besides: with it or without it are two."""
    [share] = attribute_shares([1.0, 2.0, 4.0, 7.0, 5.0, 6.0], {"yeast": [["A"]] * 3 + [["A", "B"]] * 3})

    assert share.levels == 2

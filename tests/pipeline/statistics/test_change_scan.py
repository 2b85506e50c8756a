"""The scan for changed stretches against regressions on every stretch there is, one by one, and against simulation."""

from functools import cache

import numpy as np
import pytest
from pytest import approx
from scipy import stats

from gaugebook.pipeline.statistics.change_scan import changed_stretches, likeness, scan_chance

# Independent stretches to which all stretches of a series of so many values amount: simulated (30 000 series, level 1
# in 500), and what is reckoned with, which is rounded up since the number grows towards smaller levels.
EFFECTIVE = {10: (54, 60), 15: (87, 100), 20: (141, 160), 30: (183, 270), 40: (395, 400), 60: (527, 600),
             80: (670, 800), 100: (855, 1000), 150: (1056, 1500)}  # fmt: skip


def stretches(n):
    """Shape, first and last place and weights of every stretch that is looked at.

    A step leaves three values before it and three in and outside it; a slope has five, and three outside or none.
    """
    for first in range(n):
        for last in range(first, n):
            size = last - first + 1
            weights = np.zeros(n)
            if first >= 3 and size >= 3 and n - size >= 3:
                weights[first : last + 1] = 1
                yield "step", first, last, weights.copy()
            if size >= 5 and (n - size >= 3 or size == n):
                weights[first : last + 1] = np.arange(1, size + 1) / size
                yield "slope", first, last, weights.copy()


@cache
def regressors(n):
    """Every stretch, and its weights less their mean, of length one."""
    keys, rows = zip(*[((shape, first, last), weights) for shape, first, last, weights in stretches(n)], strict=True)
    centred = np.array(rows) - np.mean(rows, axis=1, keepdims=True)
    return keys, centred / np.linalg.norm(centred, axis=1, keepdims=True)


def shares(x):
    """Squared correlation of a series with the weights of every stretch, by shape and places."""
    keys, directions = regressors(x.size)
    centred = x - x.mean()
    return dict(zip(keys, (directions @ centred) ** 2 / (centred @ centred), strict=True))


def cut_off(x):
    """Values less their median in median moving ranges (0.9539 standard deviations of the normal law), within 3."""
    median_range = np.sqrt(2) * stats.norm.ppf(0.75)  # of two normal values: sqrt 2 times the quartile
    return np.clip((x - np.median(x)) / (np.median(np.abs(np.diff(x))) / round(median_range, 4)), -3, 3)


def best_of(x):
    """Shape and places of the likeliest stretch; a slope only where it fits by 3.84 better than any step."""
    r2 = shares(x)
    step, slope = (max((key for key in r2 if key[0] == shape), key=r2.__getitem__) for shape in ("step", "slope"))
    better = x.size * np.log((1 - r2[step]) / (1 - r2[slope]))
    return (slope if better > stats.chi2.ppf(0.95, 1) else step), r2


def kendall(rest):
    """Lag-one correlation of what is left over, corrected by (n r + 1) / (n - 4)."""
    rest = rest - rest.mean()
    return (rest.size * (rest[1:] @ rest[:-1]) / (rest @ rest) + 1) / (rest.size - 4)


def chance_of(share, n):
    """Of the best of so many independent correlations with n normal values: 1 - (1 - p)^m."""
    m = np.exp(np.interp(np.log(n), np.log(list(EFFECTIVE)), np.log([kept for _, kept in EFFECTIVE.values()])))
    return 1 - (1 - stats.beta.sf(share, 0.5, (n - 2) / 2)) ** m


def series(seed, n, shape, first=0, last=0, size=0.0):
    """Normal noise with one changed stretch."""
    x = np.random.default_rng(seed).standard_normal(n)
    x[first : last + 1] += size * (1 if shape == "step" else np.arange(1, last - first + 2) / (last - first + 1))
    return x


CASES = [
    (1, 20, "step", 8, 13, 3.0), (2, 30, "step", 20, 29, 2.0), (3, 40, "slope", 15, 30, 5.0),
    (4, 25, "slope", 10, 24, -6.0), (5, 10, "step", 4, 7, 4.0), (6, 35, "step", 3, 5, 5.0),
    (7, 18, "slope", 0, 17, 5.0),
    (8, 40, "step", 10, 36, 1.5), (9, 15, "slope", 4, 8, 7.0), (10, 33, "step", 0, 0, 0.0),
    (11, 50, "slope", 30, 49, 3.0),
    (12, 27, "step", 21, 23, -4.0),
]  # fmt: skip


@pytest.mark.parametrize("case", CASES)
def test_the_best_stretch_is_the_best_of_all_regressions(case):
    """Shape, places, level, change with its standard error and share are those of scipy's linear regression on the
    weights of the stretch that explains most."""
    x = series(*case)
    (shape, first, last), r2 = best_of(x)
    weights = next(w for *key, w in stretches(x.size) if tuple(key) == (shape, first, last))
    fit, mean = stats.linregress(weights, x), weights[first : last + 1].mean()

    found = changed_stretches(x)[0]

    assert (found.shape, found.first, found.last) == (shape, first, last)
    assert found.before == approx(fit.intercept)
    assert (found.change, found.u_change) == approx((fit.slope * mean, fit.stderr * mean))
    assert (found.reached, found.explained) == approx((fit.slope, r2[shape, first, last]))


@pytest.mark.parametrize("case", CASES)
def test_the_interval_holds_every_begin_that_is_likely_enough(case):
    """Of stretches that share half of their whole length with the best, those whose twice log likelihood is no more
    than 9 (steps) or 6 (slopes) below the greatest."""
    x = series(*case)
    (_, first, last), r2 = best_of(x)
    near = {
        key: share for key, share in r2.items()
        if 2 * (min(key[2], last) - max(key[1], first) + 1) >= max(key[2], last) - min(key[1], first) + 1
    }  # fmt: skip
    worst = {"step": 9.0, "slope": 6.0}
    likely = [
        key[1] for key, share in near.items()
        if x.size * (np.log1p(-share) - np.log1p(-max(near.values()))) <= worst[key[0]]
    ]  # fmt: skip

    found = changed_stretches(x)[0]

    if -x.size * np.log1p(-max(near.values())) <= 9.0:  # no change at all is likely enough: it may have begun anywhere
        likely = [0, x.size - 1]
    assert (found.first_low, found.first_high) == (min([*likely, first]), max([*likely, first]))


@pytest.mark.parametrize("alike", [0.0, 0.3, 0.95])
@pytest.mark.parametrize("case", CASES)
def test_the_chance_is_that_of_the_best_of_values_cut_off(case, alike):
    """The share that the best stretch explains of the values, whitened and cut off, by the beta distribution."""
    x = series(*case)
    found = changed_stretches(x, alike=alike)[0]
    weights = next(w for *key, w in stretches(x.size) if tuple(key) == (found.shape, found.first, found.last))
    fit = stats.linregress(weights, x)
    own = kendall(x - fit.intercept - fit.slope * weights)
    r = min(max(alike, own if own > stats.norm.ppf(0.95) / np.sqrt(x.size) else 0.0), 0.9)
    whitened = cut_off(x[1:] - r * x[:-1] if r else x)

    assert found.p == approx(chance_of(max(shares(whitened).values()), whitened.size), rel=1e-6)


@pytest.mark.parametrize(("size", "simulated", "kept"), [(n, *pair) for n, pair in EFFECTIVE.items()])
def test_the_number_of_stretches_is_on_the_safe_side(size, simulated, kept):
    """Where one is unlikely the chance is their number times it: no fewer than were simulated, nor half more."""
    one = stats.beta.sf(0.9, 0.5, (size - 2) / 2)

    assert scan_chance(0.9, size) == approx(1 - (1 - one) ** kept, rel=1e-6)
    assert simulated <= kept <= 1.5 * simulated


@pytest.mark.parametrize(("size", "level"), [(12, 0.05), (20, 0.02)])
def test_the_number_of_stretches_by_simulation(size, level):
    """Of 1500 series of normal values fewer than the level have so small a chance, and more than a fifth of it."""
    rng = np.random.default_rng(1)
    p = [changed_stretches(rng.standard_normal(size), most=1)[0].p for _ in range(1500)]

    assert level / 5 < np.mean(np.array(p) < level) < level


def test_chances_at_their_ends():
    """What explains nothing is certain to be met, what explains all is never met by chance."""
    assert scan_chance(0.0, 30) == 1.0
    assert scan_chance(1.0, 30) == scan_chance(1.1, 30) == 0.0


def two_changes():
    """A step of 6 over places 10 to 19 and one of 3 over places 40 to 49."""
    x = series(21, 60, "step", 10, 19, 6.0)
    x[40:50] += 3.0
    return x


def test_further_changes_are_looked_for_in_what_the_first_leaves_over():
    """Each change is what the regression on its own weights takes off the rest."""
    x = two_changes()
    first, second, *_ = changed_stretches(x)
    inside = (np.arange(60) >= 10) & (np.arange(60) <= 19)
    left = x - inside * (x[inside].mean() - x[~inside].mean())

    assert [(found.first, found.last) for found in (first, second)] == [(10, 19), (40, 49)]
    assert changed_stretches(left, most=1)[0] == approx_stretch(second)


def approx_stretch(found):
    """The same stretch, but for the last digits of what was subtracted."""

    class Same:
        def __eq__(self, other):
            return list(vars(other).values()) == [v if isinstance(v, str) else approx(v) for v in vars(found).values()]

    return Same()


def test_no_more_are_told_than_are_asked_for_and_significant():
    """The first is always told, each further one only where chance gives it less often than the level."""
    x, stable = two_changes(), series(22, 60, "step")

    assert len(changed_stretches(x, most=1)) == 1
    assert all(found.p <= 0.05 for found in changed_stretches(x))
    (only,) = changed_stretches(stable)
    assert only.p > 0.05
    (first, *rest) = changed_stretches(stable, level=1.0, most=3)  # with a level of one every one counts
    assert (first.first, first.last) == (only.first, only.last) and rest
    assert len(changed_stretches(x, most=4)) <= len(changed_stretches(x, level=0.999, most=4))
    strict = changed_stretches(x, level=1e-30)
    assert [(found.first, found.last) for found in strict] == [(10, 19)]


@pytest.mark.parametrize(("scale", "told"), [(1.0, 0), (1e-6, 0), (1e-11, 0)])
def test_what_is_left_of_alike_values_by_arithmetic_is_no_change(scale, told):
    """Values alike to twelve figures of the greatest (or of one) have no stretch."""
    wobble = 1e-13 * np.random.default_rng(1).standard_normal(30)

    assert len(changed_stretches(scale + wobble)) == told
    assert len(changed_stretches(1000.0 + 100.0 * wobble)) == 0
    assert len(changed_stretches(scale + 1e3 * wobble, most=1)) == 1


def test_counts_have_the_chance_of_their_permutations():
    """Where most values are alike: the best of permutations of the values, by regressions on every stretch."""
    x = np.zeros(20)
    x[[6, 7, 9, 10, 15]] = 1.0
    rng = np.random.default_rng(3)
    own = max(shares(x).values())
    again = np.mean([max(shares(rng.permutation(x)).values()) >= own - 1e-9 for _ in range(300)])

    (found, *_) = changed_stretches(x, most=1)

    assert 0.02 < again < 0.9
    assert found.p == approx(again, rel=0.7)


def test_a_change_of_counts_that_no_permutation_reaches():
    """1999 permutations and the series itself: 1 of 2000 (Phipson and Smyth 2010, from memory)."""
    x = np.repeat([0.0, 1.0, 0.0], [20, 10, 20])

    assert changed_stretches(x, most=1)[0].p == 1 / 2000


def test_alike_are_more_than_three_in_ten():
    """With more than 0.7 of the values different the chance is that of normal values, else of permutations."""
    x = series(31, 20, "step", 8, 13, 4.0)
    x[np.argsort(x)[:6]] = x.min()  # 15 of 20 differ
    assert changed_stretches(x, most=1)[0].p < 1 / 2000
    x[np.argsort(x)[:7]] = x.min()  # 14 of 20 differ
    assert changed_stretches(x, most=1)[0].p >= 1 / 2000


def test_where_most_neighbours_are_equal_the_mean_range_is_the_measure():
    """0.9 where all but a few values are 0: they are cut off at three standard deviations, mean range / 1.128."""
    x = np.zeros(60)
    x[[20, 40]] = 1.0, -1.0
    mean_range = 4 / 59
    assert 3 * mean_range / 1.128 < 1.0  # so both are cut off and stay mirror images: mean 0 and no correlation
    assert likeness(x) == approx(1 / 56)


def test_likeness_is_the_corrected_autocorrelation_of_values_cut_off():
    """(n r + 1) / (n - 4) of the values within three short-term standard deviations of their median."""
    x = series(41, 50, "step")
    x[25] = 30.0

    assert likeness(x) == approx(kendall(cut_off(x)))
    assert likeness(np.ones(20)) == 0.0


@pytest.mark.parametrize("values", [np.arange(9.0), np.arange(151.0), np.ones((10, 10)), [1.0] * 10 + [np.nan]])
def test_what_cannot_be_looked_through(values):
    """Too few, too many, more than one row or a gap."""
    with pytest.raises(ValueError, match="expected 10 to 150"):
        changed_stretches(values)


@pytest.mark.parametrize("n", [10, 150])
def test_the_shortest_and_the_longest_series(n):
    """Ten values and 150 are looked through."""
    assert changed_stretches(series(51, n, "step", 4, 7, 6.0), most=1)[0].first == 4


def test_three_stretches_are_looked_for_where_nothing_is_said():
    """Of four changes that are as plain as can be."""
    x = series(61, 120, "step")
    for first, size in ((10, 60.0), (40, 40.0), (70, 25.0), (100, 15.0)):
        x[first : first + 10] += size

    assert len(changed_stretches(x)) == 3
    assert len(changed_stretches(x, most=4)) == 4


@pytest.mark.parametrize("scale", [1e-4, 1e4])
def test_the_unit_changes_no_chance(scale):
    """Of neighbours that are alike too: the same share and the same chance."""
    shocks = np.random.default_rng(62).standard_normal(50)
    x = np.zeros(50)
    for place, shock in enumerate(shocks):
        x[place] = 0.6 * x[place - 1] + shock if place else shock
    plain, other = changed_stretches(x, most=1)[0], changed_stretches(scale * x, most=1)[0]

    assert (other.explained, other.p) == approx((plain.explained, plain.p))
    assert other.change == approx(scale * plain.change)

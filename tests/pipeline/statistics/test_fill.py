"""Net contents: tolerable errors and the mean test, against the Directive's own figures."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gaugebook.pipeline.statistics.fill import (
    mean_test_allowance,
    mean_test_factor,
    numbers_that_decide,
    sampling_plan,
    tolerable_negative_error_ml,
)


@pytest.mark.parametrize(
    ("nominal_ml", "expected"),
    [
        # Directive 76/211/EEC, Annex I, 2.4, and the values that follow from it for the usual bottles
        (50, 4.5), (100, 4.5), (200, 9.0), (350, 10.5), (500, 15.0), (700, 15.0), (1000, 15.0), (1500, 22.5),
        (1750, 26.3),
    ],
)  # fmt: skip
def test_tolerable_negative_errors(nominal_ml, expected):
    """The tolerable negative error of each usual bottle is the published one, shares rounded up to 0.1 mL."""
    assert tolerable_negative_error_ml(nominal_ml) == expected


@pytest.mark.parametrize("nominal_ml", [4.9, 10_001, -1, float("nan")])
def test_a_bottle_outside_the_directive_is_an_error(nominal_ml):
    """Below 5 mL and above 10 L there is no tolerable error."""
    with pytest.raises(ValueError, match="expected 5 to 10 000"):
        tolerable_negative_error_ml(nominal_ml)


@given(st.floats(5, 10_000), st.floats(5, 10_000))
def test_a_larger_bottle_may_not_fall_short_by_less(a, b):
    """The tolerable error never falls as the bottle grows (rounding up aside)."""
    small, large = sorted((a, b))

    assert tolerable_negative_error_ml(small) <= tolerable_negative_error_ml(large) + 0.1


@pytest.mark.parametrize(("sample", "factor", "digits"), [(30, 0.503, 3), (50, 0.379, 3), (20, 0.640, 3)])
def test_mean_test_factors(sample, factor, digits):
    """Directive 76/211/EEC, Annex II, 2.3.2: 0.503 s for 30 bottles, 0.379 s for 50, 0.640 s for 20."""
    assert round(mean_test_factor(sample), digits) == factor


def test_a_mean_needs_two_bottles():
    """One bottle has no standard deviation."""
    with pytest.raises(ValueError, match="at least 2"):
        mean_test_factor(1)


@pytest.mark.parametrize(
    ("bottles", "plan"),
    # Directive 76/211/EEC, Annex II, 2.2.1: first sample / acceptance / rejection, both / acceptance / rejection; the
    # last is the sample of the mean, 2.3.2
    [
        (100, (30, 1, 3, 60, 4, 5, 30)), (500, (30, 1, 3, 60, 4, 5, 30)),
        (501, (50, 2, 5, 100, 6, 7, 50)), (3200, (50, 2, 5, 100, 6, 7, 50)),
        (3201, (80, 3, 7, 160, 8, 9, 50)), (5000, (80, 3, 7, 160, 8, 9, 50)), (10_000, (80, 3, 7, 160, 8, 9, 50)),
    ],
)  # fmt: skip
def test_plans_of_bottles_that_stay_closed(bottles, plan):
    """The plan is that of the number of bottles filled: 30 do not do for 5000."""
    given = sampling_plan(bottles)

    assert (
        given.first,
        given.accept,
        given.reject,
        given.both,
        given.accept_both,
        given.reject_both,
        given.mean,
    ) == plan


@pytest.mark.parametrize("bottles", [100, 3000, 10_000])
def test_the_plan_of_bottles_that_are_opened(bottles):
    """Directive 76/211/EEC, Annex II, 2.2.2 and 2.3.2.2: 20 of whatever number from 100 on; 1 accepts, 2 refuse."""
    given = sampling_plan(bottles, is_destructive=True)

    assert (given.first, given.accept, given.reject, given.both, given.mean) == (20, 1, 2, 20, 20)


@pytest.mark.parametrize(("bottles", "accept"), [(1, 0), (39, 0), (40, 1), (99, 2)])
def test_every_bottle_of_a_small_batch(bottles, accept):
    """Annex II, 2.1.3: of fewer than 100 all, opened none; 2.5 % of them is the guidance of the United Kingdom."""
    for is_destructive in (False, True):
        given = sampling_plan(bottles, is_destructive)
        assert (given.first, given.both, given.mean, given.accept, given.reject) == (
            bottles, bottles, bottles, accept, accept + 1,
        )  # fmt: skip


def test_a_lot_of_several_batches():
    """Annex II, 2.1.2: at most 10 000 are a batch, so 25 000 are three; 7 short ones of one refuse it, and of 19 at
    least one of three batches has 7."""
    given = sampling_plan(25_000)

    assert (given.first, given.accept, given.reject, given.both, given.accept_both) == (240, 3, 19, 480, 8)


def test_no_bottle_is_no_batch():
    """There is no plan for nothing."""
    with pytest.raises(ValueError, match="at least 1"):
        sampling_plan(0)


@pytest.mark.parametrize(
    ("is_short", "answer"),
    # the double plan of 100 to 500 bottles: 30 / 1 / 3, 60 / 4 / 5
    [
        ([0] * 29, "too small"), ([0] * 29 + [1] * 1, "accepted"), ([0] * 28 + [1] * 2, "second sample"),
        ([0] * 27 + [1] * 3, "refused"), ([1] * 3, "refused"),
        ([1] * 2 + [0] * 58, "accepted"), ([1] * 2 + [0] * 56 + [1] * 2, "accepted"),
        ([1] * 2 + [0] * 55 + [1] * 3, "refused"), ([0] * 57 + [1] * 3, "accepted"),
        ([1] * 3 + [0] * 57, "refused"), ([0] * 30 + [1] * 2, "second sample"), ([0] * 30 + [1] * 5, "refused"),
    ],
)  # fmt: skip
def test_what_decides_in_double_sampling(is_short, answer):
    """Annex II, 2.2.1: the first sample decides where it can, both together where it cannot; a sample refused is not
    made good by a second, and what was measured besides the first sample counts too."""
    accept, reject = numbers_that_decide(sampling_plan(400), [bool(short) for short in is_short])
    short = sum(is_short)

    if accept is None:
        given = "too small"
    else:
        given = "accepted" if short <= accept else "refused" if short >= reject else "second sample"
    assert given == answer


@given(st.integers(1, 30_000), st.integers(0, 200), st.integers(0, 200), st.booleans())
def test_more_short_bottles_never_help(bottles, measured, short, is_destructive):
    """A sample with one short bottle more is never accepted where the other was not."""
    plan = sampling_plan(bottles, is_destructive)
    short = min(short, measured)

    def is_accepted(number):
        accept, _ = numbers_that_decide(plan, [True] * number + [False] * (measured - number))
        return accept is not None and number <= accept

    assert short == 0 or is_accepted(short - 1) or not is_accepted(short)


def test_the_mean_of_every_bottle_has_no_allowance():
    """SI 2006/659, schedule 2, 4.7: below 100 the mean of all is not less than nominal; Annex II, 2.3.2.1: 0.379 s."""
    assert mean_test_allowance(60, 60) == 0.0
    assert round(mean_test_allowance(50, 501), 3) == 0.379


@pytest.mark.parametrize(
    ("nominal_ml", "expected"),
    # Annex I, 2.4, at the ends of its bands: 9 % to 50, 4.5 mL to 100, 4.5 % to 200, 9 mL to 300, 3 % to 500, 15 mL to
    # 1000, 1.5 % to 10 000; a share is rounded up to 0.1 mL
    [(5, 0.5), (49, 4.5), (51, 4.5), (101, 4.6), (150, 6.8), (201, 9.0), (300, 9.0), (301, 9.1), (400, 12.0),
     (501, 15.0), (1001, 15.1), (10_000, 150.0)],
)  # fmt: skip
def test_tolerable_errors_at_the_ends_of_the_bands(nominal_ml, expected):
    """Each band begins beyond the last millilitre of the one before."""
    assert tolerable_negative_error_ml(nominal_ml) == expected


def test_two_bottles_have_a_mean():
    """Student's t at 0.995 with one degree of freedom is 63.657 (every table of t), over the root of two."""
    assert mean_test_factor(2) == pytest.approx(63.657 / 2**0.5, abs=5e-4)


def test_opened_bottles_have_no_second_sample():
    """Annex II, 2.2.2: the numbers of the 20 stay those that decide, however many more were opened."""
    plan = sampling_plan(5000, is_destructive=True)

    assert (plan.accept_both, plan.reject_both) == (1, 2)
    assert numbers_that_decide(plan, [False] * 20) == numbers_that_decide(plan, [False] * 25) == (1, 2)


@pytest.mark.parametrize(
    ("bottles", "is_destructive", "plan"),
    # so many batches of 10 000; one of them must have been refused: parts x (rejection number - 1) + 1
    [(10_001, False, (160, 3, 13, 320, 8, 17, 100)), (20_000, False, (160, 3, 13, 320, 8, 17, 100)),
     (20_001, False, (240, 3, 19, 480, 8, 25, 150)), (15_000, True, (40, 1, 3, 40, 1, 3, 40))],
)  # fmt: skip
def test_every_ten_thousand_begun_are_a_batch(bottles, is_destructive, plan):
    """Annex II, 2.1.2: 10 001 bottles are two batches, 20 000 too."""
    given = sampling_plan(bottles, is_destructive)

    assert (
        given.first,
        given.accept,
        given.reject,
        given.both,
        given.accept_both,
        given.reject_both,
        given.mean,
    ) == plan


def test_small_batches_have_one_sample():
    """Of 80 bottles 2 may be short (2.5 %) and 3 refuse; both samples are the first."""
    plan = sampling_plan(80)

    assert (plan.reject, plan.accept_both, plan.reject_both) == (3, 2, 3)
    assert sampling_plan(99).first == 99 and sampling_plan(1).first == 1


@pytest.mark.parametrize(
    ("is_short", "decided"),
    # the double plan of 100 to 500 bottles: 30 / 1 / 3, 60 / 4 / 5
    [
        ([0] * 10 + [1] * 3, (1, 3)),  # three of thirteen refuse it already
        ([1] * 3 + [0] * 57, (1, 3)), ([1] * 5 + [0] * 25, (1, 3)), ([1] * 3 + [0] * 29 + [1] * 3, (1, 3)),
        ([0] * 29, (None, None)), ([0] * 30, (1, 3)), ([0] * 31, (1, 5)), ([0] * 59, (1, 5)), ([0] * 60, (4, 5)),
        ([0] * 70, (4, 5)),
    ],
)  # fmt: skip
def test_the_numbers_that_decide(is_short, decided):
    """Annex II, 2.2.1: the numbers of the first sample up to its last bottle, those of both from their last one on."""
    assert numbers_that_decide(sampling_plan(400), [bool(short) for short in is_short]) == decided


@pytest.mark.parametrize(("measured", "batch", "all_measured"), [(61, 60, True), (59, 60, False), (5, 0, False)])
def test_a_whole_batch_is_measured_when_no_bottle_is_left(measured, batch, all_measured):
    """A batch of an unknown number (0) is not."""
    assert (mean_test_allowance(measured, batch) == 0.0) == all_measured


def test_the_only_bottle_of_a_batch_is_the_whole_batch():
    """Its mean has no allowance, and needs no standard deviation."""
    assert mean_test_allowance(1, 1) == 0.0

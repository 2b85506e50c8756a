"""The answers of rules, and the cases of the rules over run curves, in the form of tests/checks/test_rules.py."""

WITHIN, DOUBTFUL, OUT, NOT_EVALUATED = "within", "doubtful", "out", "not evaluated"
PASSED_OVER = "passed over"  # the rule does not look at this row

CURVES = {
    # 5 min beyond three standard uncertainties
    "cut-to-hearts": ({"hearts_from_sheet_at": "2031-01-01 06:00", "u_hearts_from_min": 1.0}, [
        (0.5, WITHIN), (8.0, WITHIN), (-8.0, WITHIN), (8.1, DOUBTFUL), (-60.0, DOUBTFUL), (None, NOT_EVALUATED),
        ({"hearts_from_apart_min": 60.0, "hearts_from_sheet_at": None}, PASSED_OVER),
    ]),
    "cut-to-tails": ({"hearts_to_sheet_at": "2031-01-01 06:00", "u_hearts_to_min": 1.0}, [
        (0.5, WITHIN), (8.0, WITHIN), (-8.0, WITHIN), (8.1, DOUBTFUL), (-60.0, DOUBTFUL), (None, NOT_EVALUATED),
        ({"hearts_to_apart_min": 60.0, "hearts_to_sheet_at": None}, PASSED_OVER),
    ]),
    # 200 LPA in the receiver: from 200 - 3 x 1 to 204 + 3 x 1 by the log
    "log-alcohol-against-receivers": ({"gauged_alcohol_l": 200.0, "u_alcohol_difference_l": 1.0}, [
        (202.0, WITHIN), (207.0, WITHIN), (197.0, WITHIN), (207.1, DOUBTFUL), (196.9, DOUBTFUL), (None, NOT_EVALUATED),
        ({"logged_alcohol_l": 300.0, "gauged_alcohol_l": None}, PASSED_OVER),
    ]),
    "log-volume-against-receivers": ({"gauged_volume_l": 200.0, "u_volume_difference_l": 1.0}, [
        (202.0, WITHIN), (207.0, WITHIN), (197.0, WITHIN), (207.1, DOUBTFUL), (196.9, DOUBTFUL), (None, NOT_EVALUATED),
        ({"logged_volume_l": 300.0, "gauged_volume_l": None}, PASSED_OVER),
    ]),
    "vapour-against-equilibrium": ({"u_vapour_residual_c": 0.4}, [
        (0.1, WITHIN), (1.0, WITHIN), (-1.0, WITHIN), (1.1, DOUBTFUL), (-1.1, DOUBTFUL), (None, NOT_EVALUATED),
    ]),
    "strength-beyond-plates": ({"reached_pct_vol": 94.0, "stages_available": 6.0}, [
        (4.0, WITHIN), (6.0, WITHIN), (6.1, DOUBTFUL), (float("inf"), DOUBTFUL), (None, NOT_EVALUATED),
        ({"stages_needed": 9.0, "reached_pct_vol": None}, PASSED_OVER),
    ]),
    "run-in-band": ({"band": "within"}, [
        (0.7, WITHIN), (1.0, WITHIN), ({"of_the_band": 1.1, "band": "left"}, DOUBTFUL), (None, NOT_EVALUATED),
        ({"of_the_band": None, "band": "no band yet"}, PASSED_OVER),
    ]),
    "run-without-band": ({"band": "no band yet"}, [
        ({"band_runs": 0, "band": "no curve"}, PASSED_OVER),
        (12, WITHIN), (8, WITHIN), (7, DOUBTFUL), (None, NOT_EVALUATED),
    ]),
    **{
        rule: ({"kind": kind}, [
            (0, WITHIN), (1, DOUBTFUL), (None, NOT_EVALUATED), ({"times_found": 1, "kind": "another"}, PASSED_OVER),
        ])
        for rule, kind in {
            "log-saturated": "saturated", "log-standing-still": "stuck", "log-drift": "drift", "log-spikes": "spike",
            "log-clock-step": "clock step", "log-rows": "duplicate", "pot-against-equilibrium": "pot off equilibrium",
        }.items()
    },
}  # fmt: skip

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

# Bottles: fills, sizes, labels and counts.
BOTTLES = {
    # Directive 76/211/EEC, Annex I: the contents not less, on average, than the nominal quantity
    "fill-average": ({"jurisdiction": "EU", "least_fill_mean_ml": 699.0}, [
        (700.5, WITHIN), (699.0, WITHIN), (698.9, OUT),
        (None, NOT_EVALUATED),
    ]),
    # Annex II, 2.2.1: of 50 so many as 2 may be short by more than the tolerable negative error; with 5 the batch is
    # refused, and between the two a second sample decides
    "fill-tolerable-error": ({"jurisdiction": "EU", "accepted_below_tne": 2, "rejected_below_tne": 5}, [
        (0, WITHIN), (2, WITHIN), (3, DOUBTFUL), (4, DOUBTFUL), (5, OUT),
        (None, NOT_EVALUATED), ({"fills_below_tne": 3, "accepted_below_tne": None}, NOT_EVALUATED),
    ]),
    "fill-twice-error": ({"jurisdiction": "EU"}, [
        (0, WITHIN), (1, OUT), (None, NOT_EVALUATED),
        ({"fills_below_2tne": 5, "jurisdiction": "US"}, PASSED_OVER),
    ]),
    # 27 CFR 19.356(b)(2): 2.0 % for 376 to 999 mL
    "fill-variation": ({"jurisdiction": "US", "allowed_variation": 0.02}, [
        (0.01, WITHIN), (0.02, WITHIN), (0.0201, OUT), (None, NOT_EVALUATED),
        ({"fill_greatest_variation": 0.5, "jurisdiction": "EU"}, PASSED_OVER),
    ]),
    # 27 CFR 19.356(b): as close to 100 percent fill as may be; three standard uncertainties, common practice
    "fill-average-us": ({"jurisdiction": "US", "nominal_ml": 750.0, "u_fill_mean_ml": 0.3}, [
        (751.5, WITHIN), (750.0, WITHIN), (749.1, WITHIN), (749.0, OUT), (744.4, OUT), (None, PASSED_OVER),
        ({"fill_mean_ml": 749.0, "u_fill_mean_ml": None}, NOT_EVALUATED),
        ({"fill_mean_ml": 700.0, "jurisdiction": "EU"}, PASSED_OVER),
    ]),
    # 27 CFR 19.356(b): about as many overfills as underfills; of 36, three standard deviations of chance are 18
    "fill-balance": ({"jurisdiction": "US", "sd_over_less_under": 6.0}, [
        (0, WITHIN), (18, WITHIN), (-18, WITHIN), (20, DOUBTFUL), (-36, DOUBTFUL), (None, NOT_EVALUATED),
        ({"fills_over_less_under": 36, "jurisdiction": "EU"}, PASSED_OVER),
    ]),
    "bottling-signed": ({}, [("AQ", WITHIN), (None, OUT)]),
    "nominal-volume": ({"volume_is_bound": "yes"}, [
        (700.0, WITHIN), (None, OUT), ({"allowed_ml": None, "volume_is_bound": None}, PASSED_OVER),
        ({"allowed_ml": None, "volume_is_bound": "from memory"}, PASSED_OVER),
    ]),
    "nominal-volume-from-memory": ({"volume_is_bound": "from memory"}, [
        (700.0, WITHIN), (None, OUT), ({"allowed_ml": None, "volume_is_bound": "yes"}, PASSED_OVER),
    ]),
    "label-as-product": ({"profile_strength_pct_vol": 40.0}, [
        (40.0, WITHIN), (40.5, OUT),
        (None, NOT_EVALUATED),
        ({"label_strength_pct_vol": 58.1, "profile_strength_pct_vol": None}, PASSED_OVER),  # at cask strength
    ]),
    "label-age-as-product": ({"profile_age_years": 4.0}, [
        (4.0, WITHIN), (6.0, OUT), (3.0, OUT), (None, PASSED_OVER),
        ({"label_age_years": 4.0, "profile_age_years": 0.0}, OUT),
        ({"label_age_years": 6.0, "profile_age_years": None}, PASSED_OVER),
    ]),
    "product-known": ({}, [("GIN", WITHIN), (None, OUT)]),
    "bottling-loss": ({"u_bottling_loss": 0.01}, [
        (0.01, WITHIN), (0.06, WITHIN), (0.07, DOUBTFUL),
        (-0.04, OUT), (None, NOT_EVALUATED),
    ]),
    "bottle-rejects": ({}, [
        (0.0, WITHIN), (0.03, WITHIN), (0.04, DOUBTFUL), (None, NOT_EVALUATED),
    ]),
}  # fmt: skip

# Casks; limits of common practice, rows made up
CASKS = {
    "cask-holds": ({}, [("yes", WITHIN), ("no", OUT), (None, PASSED_OVER)]),
    "cask-registered": ({}, [("yes", WITHIN), ("no", OUT), (None, NOT_EVALUATED)]),
    "cask-tare": ({}, [(0.02, WITHIN), (0.05, WITHIN), (0.06, DOUBTFUL), (None, PASSED_OVER)]),
    "cask-loss-reason": ({"event": "lost"}, [
        ("leaking head", WITHIN), (None, OUT), ({"reason": None, "event": "drawn"}, PASSED_OVER),
    ]),
    "cask-overfilled": ({"u_filled_of_size": 0.01}, [
        (0.98, WITHIN), (1.10, WITHIN), (1.12, DOUBTFUL), (1.14, OUT), (1.92, OUT), (None, PASSED_OVER),
    ]),
    "cask-moved-empty": ({}, [("yes", WITHIN), ("no", OUT), (None, PASSED_OVER)]),
    # 0.5 LPA: twice is doubtful, four times impossible
    "cask-gains": ({"u_least_loss_l": 0.5}, [
        (3.0, WITHIN), (0.0, WITHIN), (-1.0, WITHIN),
        (-1.5, DOUBTFUL), (-2.0, DOUBTFUL), (-2.1, OUT), (None, PASSED_OVER),
    ]),
    "claim-shown": ({"is_confirmed": "yes"}, [
        ("yes", WITHIN), ("no", OUT), (None, NOT_EVALUATED), ({"shown": "no", "is_confirmed": "no"}, PASSED_OVER),
    ]),
    "claim-from-memory": ({"is_confirmed": "no"}, [
        ("yes", WITHIN), ("no", OUT), (None, NOT_EVALUATED), ({"shown": "no", "is_confirmed": "yes"}, PASSED_OVER),
    ]),
    # 27 CFR 5.143(c): 125 proof, 62.55 % vol at 20 °C by 27 CFR 30.11 and OIML R 22
    "cask-entry-strength": ({"entry_most_pct_vol": 62.55, "u_entry_pct_vol": 0.04}, [
        (60.0, WITHIN), (62.55, WITHIN), (62.6, DOUBTFUL), (62.63, DOUBTFUL), (62.64, OUT), (63.05, OUT),
        (None, NOT_EVALUATED),
    ]),
    "cask-evaporation": ({"usual_per_year": 0.04, "least_per_year": 0.01, "most_per_year": 0.07}, [
        (0.04, WITHIN), (0.07, WITHIN), (0.08, DOUBTFUL), (0.005, DOUBTFUL), (None, NOT_EVALUATED),
        ({"evaporation_per_year": 0.2, "usual_per_year": None}, PASSED_OVER),
    ]),
}  # fmt: skip

# What a category or class asks: distillation, mash bill, sweetness, contaminants, allergens.
CATEGORIES = {
    # Annex I, category 41(b): mistrà at most 47 % vol; taken as it is at the limit
    "category-most-strength": (
        {"jurisdiction": "EU", "most_strength_pct_vol": 47.0, "u_laboratory_strength_pct_vol": 0.1}, [
            (46.0, WITHIN), (47.0, WITHIN), (47.1, DOUBTFUL), (47.2, DOUBTFUL), (47.3, OUT), (None, NOT_EVALUATED),
            ({"laboratory_strength_pct_vol": 60.0, "most_strength_pct_vol": None}, PASSED_OVER),
        ]),
    # 27 CFR 5.143(c): at most 160 proof, 80 % vol at 60 °F
    "distillate-strength-most": (
        {"direction": "out", "part": "hearts", "distilled_most_pct_vol": 80.0, "u_strength_pct_vol": 0.1}, [
            (79.0, WITHIN), (79.8, WITHIN), (80.0, DOUBTFUL), (80.2, DOUBTFUL), (80.3, OUT), (None, NOT_EVALUATED),
            ({"strength_pct_vol": 94.0, "distilled_most_pct_vol": None}, PASSED_OVER),
            ({"strength_pct_vol": 94.0, "direction": "in"}, PASSED_OVER),
        ]),
    # 27 CFR 5.143(c): light whisky above 160 proof
    "distillate-strength-above": (
        {"direction": "out", "part": "hearts", "stage": "rectify", "distilled_above_pct_vol": 80.0,
         "u_strength_pct_vol": 0.1}, [
            (90.0, WITHIN), (80.3, WITHIN), (80.1, DOUBTFUL), (80.0, DOUBTFUL), (79.7, OUT), (None, NOT_EVALUATED),
            ({"strength_pct_vol": 80.0, "u_strength_pct_vol": 0.0}, OUT),  # "above" leaves the limit itself out
            ({"strength_pct_vol": 60.0, "stage": "strip"}, PASSED_OVER),
        ]),
    # 27 CFR 5.143(c): at least 51 % of the grain
    # Gay-Lussac: all of the sugar, with three standard uncertainties; 0.9 is a good ferment
    "yield-above-theory": ({"u_yield_of_possible": 0.01}, [
        (0.9, WITHIN), (1.03, WITHIN), (1.031, OUT), (1.36, OUT), (None, NOT_EVALUATED),
    ]),
    "yield-predicted": ({"has_material": "yes"}, [(410.0, WITHIN), (None, OUT)]),
    # sugar is a part of the soluble solids; 86 % as invert on 78 °Brix: 81.7 / 78
    "certificate-possible": ({}, [
        (0.63, WITHIN), (1.02, WITHIN), (1.021, OUT), (1.047, OUT), (None, PASSED_OVER),
    ]),
    # Directive 2001/110/EC, Annex II, point 2: not more than 20 %
    "honey-moisture": ({"most_moisture_pct": 20.0}, [
        (17.6, WITHIN), (20.0, WITHIN), (20.1, OUT), (35.0, OUT), (None, NOT_EVALUATED),
    ]),
    "bought-spirit-neutral": ({"from_neutral_spirit": "yes"}, [
        ("neutral spirit", WITHIN), ("spirit", OUT), ("wash", OUT), (None, NOT_EVALUATED),
    ]),
    "mash-bill-share": ({"least_share": 0.51}, [
        (0.7, WITHIN), (0.51, WITHIN), (0.509, OUT), (0.0, OUT), (None, NOT_EVALUATED),
    ]),
    # 27 CFR 5.150(a): not less than 2.5 percent by weight
    "liqueur-sugar": ({"sugar_least_pct_mass": 2.5}, [
        (10.0, WITHIN), (2.5, WITHIN), (2.49, OUT), (None, NOT_EVALUATED),
    ]),
    # Annex I, category 26(d): pastis less than 100 g/l
    "sweetening-below": ({"analyte": "sweetening", "below": 100.0}, [
        (50.0, WITHIN), (99.9, WITHIN), (100.0, OUT), (120.0, OUT), (None, NOT_EVALUATED),
        ({"value": 120.0, "below": None}, PASSED_OVER),
    ]),
    # Annex I, category 27(a): anethole of pastis de Marseille between 1.9 and 2.1 g/l
    "anise-limit": ({"analyte": "anethole", "least": 1.9, "most": 2.1}, [
        (2.0, WITHIN), (1.9, WITHIN), (2.1, WITHIN), (1.89, OUT), (2.11, OUT), (None, NOT_EVALUATED),
        ({"value": 9.0, "analyte": "methanol"}, PASSED_OVER),
    ]),
    "limit-from-memory": ({"most_from_memory": 1.5}, [
        (1.0, WITHIN), (1.5, WITHIN), (1.6, DOUBTFUL), (None, NOT_EVALUATED),
        ({"value": 9.0, "most_from_memory": None}, PASSED_OVER),
    ]),
    "residue-from-memory": ({"most_from_memory": 0.1}, [
        (0.05, WITHIN), (0.1, WITHIN), (0.2, DOUBTFUL), (None, NOT_EVALUATED),
        ({"value": 9.0, "most_from_memory": None}, PASSED_OVER),
    ]),
    # Health Canada: 150 parts per billion of ethyl carbamate in distilled spirits
    "contaminant-limit": ({"standing": "limit", "most_ug_kg": 150.0, "u_value_ug_kg": 5.0}, [
        (100.0, WITHIN), (140.0, WITHIN), (145.0, DOUBTFUL), (150.0, DOUBTFUL), (151.0, OUT), (None, NOT_EVALUATED),
        ({"value_ug_kg": 500.0, "standing": "target"}, PASSED_OVER),
    ]),
    # Recommendation (EU) 2016/22: 1,000 µg/kg in stone fruit spirits, a target; however far beyond, it is only told
    "house-target": ({"standing": "house target", "most_ug_kg": 125.0}, [
        (80.0, WITHIN), (125.0, WITHIN), (126.0, DOUBTFUL), (None, NOT_EVALUATED),
        ({"value_ug_kg": 500.0, "standing": "target"}, PASSED_OVER),
    ]),
    "contaminant-target": ({"standing": "target", "most_ug_kg": 1000.0}, [
        (900.0, WITHIN), (1000.0, WITHIN), (1001.0, DOUBTFUL), (50000.0, DOUBTFUL), (None, NOT_EVALUATED),
        ({"value_ug_kg": 5000.0, "standing": "from memory"}, DOUBTFUL),
        ({"value_ug_kg": 5000.0, "standing": "limit"}, PASSED_OVER),
    ]),
    # Regulation (EU) 1169/2011, Article 9(1)(c)
    "allergen-on-label": ({"standing": "present"}, [
        ("named", WITHIN), (None, OUT), ({"on_label": None, "standing": "may be present"}, PASSED_OVER),
    ]),
    "allergen-perhaps": ({"standing": "may be present"}, [
        ("named", WITHIN), (None, OUT), ({"on_label": None, "standing": "present"}, PASSED_OVER),
    ]),
}  # fmt: skip

# What leaves the house, comes back or is counted
DISPATCHES = {
    "dispatch-document": ({"kind": "dispatched"}, [
        ("D-1", WITHIN), (None, OUT), ({"document": None, "kind": "returned"}, PASSED_OVER),
    ]),
    "dispatch-customer": ({"kind": "dispatched"}, [
        ("K-7", WITHIN), (None, OUT), ({"customer": None, "kind": "sampled"}, PASSED_OVER),
    ]),
    "dispatch-duty-status": ({"kind": "dispatched"}, [
        ("in bond", WITHIN), (None, OUT), ({"duty_status": None, "kind": "destroyed"}, PASSED_OVER),
    ]),
    "removal-lot-known": ({}, [("produced", WITHIN), ("opening", WITHIN), (None, OUT)]),
    "removal-before-made": ({}, [(-30, WITHIN), (0, WITHIN), (1, OUT), (None, PASSED_OVER)]),
    "dispatch-released": ({"kind": "dispatched"}, [
        ("released", WITHIN), ("released later", OUT), ("rejected", OUT), ("not decided on", OUT),
        (None, PASSED_OVER),  # bulk, and bottles of the opening stock
        ({"released": "not decided on", "kind": "sampled"}, PASSED_OVER),
    ]),
    "goods-overdrawn": ({}, [(12, WITHIN), (0, WITHIN), (-1, OUT), (None, NOT_EVALUATED)]),
    "return-after-dispatch": ({"kind": "returned", "dispatched_before": 60.0, "u_returned": 0.0}, [
        (6, WITHIN), (60, WITHIN), (61, OUT), ({"returned_so_far": 60.8, "u_returned": 0.5}, WITHIN),
        (None, NOT_EVALUATED), ({"returned_so_far": 61, "kind": "dispatched"}, PASSED_OVER),
    ]),
    # a number of its own for each consignment; common practice
    "dispatch-document-own": ({"kind": "dispatched"}, [
        (1, WITHIN), (2, OUT), (None, PASSED_OVER), ({"document_uses": 2, "kind": "returned"}, PASSED_OVER),
    ]),
    "return-document": ({"kind": "returned"}, [
        ("on record", WITHIN), ("of another lot", OUT), ("of a later day", OUT), ("not on record", OUT),
        (None, PASSED_OVER), ({"dispatch_is": "not on record", "kind": "dispatched"}, PASSED_OVER),
    ]),
    "return-of-document": ({"kind": "returned", "sent_by_document": 60.0, "u_returned_of_document": 0.0}, [
        (6, WITHIN), (60, WITHIN), (61, OUT), ({"returned_of_document": 60.8, "u_returned_of_document": 0.5}, WITHIN),
        (None, NOT_EVALUATED), ({"returned_of_document": 70, "sent_by_document": None}, PASSED_OVER),
    ]),
    # 27 CFR 19.616 and 19.617: the elements of these records, by name
    "sample-purpose": ({"kind": "sampled", "sample_record": "sample"}, [
        ("analysis", WITHIN), (None, OUT), ({"reason": None, "sample_record": None}, PASSED_OVER),
        ({"reason": None, "kind": "dispatched"}, PASSED_OVER),
    ]),
    "sample-recipient": ({"kind": "sampled", "sample_record": "sample"}, [
        ("L-401", WITHIN), (None, OUT), ({"customer": None, "sample_record": None}, PASSED_OVER),
    ]),
    "destruction-reason": ({"kind": "destroyed"}, [
        ("corked", WITHIN), (None, OUT), ({"reason": None, "kind": "sampled"}, PASSED_OVER),
    ]),
    "destruction-witness": ({"kind": "destroyed"}, [
        ("QA", WITHIN), (None, OUT), ({"witness": None, "kind": "dispatched"}, PASSED_OVER),
    ]),
    "count-signed": ({"is_counted": "yes"}, [
        ("AB", WITHIN), (None, OUT), ({"counted_by": None, "is_counted": None}, PASSED_OVER),
    ]),
    "count-against-book": ({"book_pieces": 111}, [
        (111, WITHIN), (110, DOUBTFUL), (112, DOUBTFUL), (None, PASSED_OVER),
        ({"pieces": 111, "book_pieces": None}, NOT_EVALUATED),
    ]),
}  # fmt: skip

# Reductions, filtrations and how runs were written down
RECORDS = {
    "reduction-predicted": ({"predicted_pct_vol": 40.0, "allowed_pct_vol": 0.5}, [
        (40.1, WITHIN), (40.5, WITHIN), (39.4, DOUBTFUL), (None, NOT_EVALUATED),
        ({"strength_pct_vol": 40.0, "predicted_pct_vol": None}, NOT_EVALUATED),
    ]),
    "filter-strength": ({"u_change_pct_vol": 0.1}, [
        (0.0, WITHIN), (-0.5, WITHIN), (-0.6, DOUBTFUL), (None, NOT_EVALUATED),
    ]),
    "filter-loss": ({"u_loss": 0.005}, [
        (0.01, WITHIN), (0.045, WITHIN), (0.05, DOUBTFUL), (-0.02, OUT), (None, NOT_EVALUATED),
    ]),
    "readings-vouched": ({"u_instrument": 0.15}, [
        (0.1, WITHIN), (0.45, WITHIN), (0.5, DOUBTFUL), (None, NOT_EVALUATED),
    ]),
    "run-signed": ({}, [("AQ", WITHIN), (None, OUT)]),
    "run-gauged-in": ({}, [(2, WITHIN), (None, OUT)]),
    "run-gauged-out": ({"ended_at": "2031-01-01 06:00"}, [
        (1, WITHIN), (None, OUT), ({"gauged_out": None, "ended_at": None}, PASSED_OVER),
    ]),
    "cuts-in-order": ({"hearts_from": "2031-01-01 06:00"}, [
        (0.0, WITHIN), (5.0, OUT), (None, NOT_EVALUATED),
        ({"cuts_outside_min": None, "hearts_from": None}, PASSED_OVER),
    ]),
}  # fmt: skip

"""The measures of the trends, in the order of the house: from mash to bottle.

`measure_rows.sql` and `trends_gather.py` give the rows of each by its code; a new measure is an entry here and a SELECT
there. A value is factor x numerator / denominator, months are ratios of their sums.
"""

from gaugebook.reports.trends.measures import Measure

FACTORS = {"%": 100.0}  # fractions are shown as per cent; all other units stand as they are


def factor(measure: Measure) -> float:
    """What a ratio of the measure's sums is multiplied by to be in its unit."""
    return FACTORS.get(measure.unit, 1.0)


_BALANCES = "derived.run_balances"

MEASURES = (
    Measure(
        "mash_efficiency", "Mash efficiency", "%", "mash", "higher",
        "Extract in the wort over extract of the grain, or soluble solids of juice and sugar, by their certificates.",
        "typed gravities, derived.gauges (wort), derived.ferment_yields.extract_kg", "recipe",
    ),
    Measure(
        "yield_l_per_t", "Yield", "LPA per tonne", "ferment", "higher",
        "LPA in the wash over tonnes of grain, fruit or sugar as received.",
        "derived.ferment_yields: alcohol_l, grain_kg", "recipe", watched=False,
    ),
    Measure(
        "yield_against_prediction", "Yield against prediction", "%", "ferment", "higher",
        "LPA in the wash over LPA predicted from extract or sugar of the lots and what of it ferments.",
        "derived.ferment_yields: alcohol_l, predicted_alcohol_l", "recipe", alcohol="gained",
    ),
    Measure(
        "attenuation", "Apparent attenuation", "%", "ferment", "higher",
        "Fall of the specific gravity over what the original gravity lies above 1.",
        "derived.ferment_yields: original_gravity, final_gravity", "recipe",
    ),
    Measure(
        "fermentation_efficiency", "Fermentation efficiency", "%", "ferment", "higher",
        "LPA formed over LPA that the fermented extract could form (Gay-Lussac).",
        "derived.ferment_yields: alcohol_l, fermentation_efficiency", "recipe",
    ),
    Measure(
        "strip_recovery", "Stripping recovery", "%", "strip", "higher",
        "LPA in the hearts over LPA charged.", f"{_BALANCES}: hearts_l, alcohol_in_l", "still", alcohol="gained",
    ),
    Measure(
        "strip_unaccounted", "Stripping, unaccounted loss", "%", "strip", "lower",
        "LPA charged less LPA of all parts out, over LPA charged.",
        f"{_BALANCES}: loss_l, alcohol_in_l", "still", decimals=2, alcohol="lost",
    ),
    Measure(
        "strip_spent", "Stripping, loss in spent wash", "%", "strip", "lower",
        "LPA in the spent wash over LPA charged.",
        f"{_BALANCES}: spent_l, alcohol_in_l", "still", decimals=2, alcohol="lost",
    ),
    Measure(
        "strip_hearts_share", "Stripping, hearts share", "%", "strip", "higher",
        "LPA in the hearts over LPA in heads, hearts and tails.",
        f"{_BALANCES}: heads_l, hearts_l, tails_l", "still", decimals=2,
    ),
    Measure(
        "strip_hearts_strength", "Stripping, strength of the hearts", "% vol", "strip", "target",
        "LPA in the hearts over their volume.", f"{_BALANCES}: hearts_l, hearts_strength_pct_vol", "still", decimals=2,
    ),
    Measure(
        "strip_cut_strength", "Stripping, strength at the cut", "% vol", "strip", "target",
        "Parrot strength as read, mean of the ten minutes before the cut from hearts to tails.",
        "derived.run_curves.hearts_to_at, typed.log_rows", "still",
    ),
    Measure(
        "rectify_recovery", "Rectifying recovery", "%", "rectify", "higher",
        "LPA in the hearts over LPA charged.", f"{_BALANCES}: hearts_l, alcohol_in_l", "still", alcohol="gained",
    ),
    Measure(
        "rectify_unaccounted", "Rectifying, unaccounted loss", "%", "rectify", "lower",
        "LPA charged less LPA of all parts out, over LPA charged.",
        f"{_BALANCES}: loss_l, alcohol_in_l", "still", decimals=2, alcohol="lost",
    ),
    Measure(
        "rectify_spent", "Rectifying, loss in the spent", "%", "rectify", "lower",
        "LPA in the spent over LPA charged.",
        f"{_BALANCES}: spent_l, alcohol_in_l", "still", decimals=2, alcohol="lost",
    ),
    Measure(
        "rectify_hearts_share", "Rectifying, hearts share", "%", "rectify", "higher",
        "LPA in the hearts over LPA in heads, hearts and tails.",
        f"{_BALANCES}: heads_l, hearts_l, tails_l", "still", decimals=2,
    ),
    Measure(
        "neutral_spirit_strength", "Strength of the rectified spirit", "% vol", "rectify", "target",
        "LPA in the hearts over their volume.", f"{_BALANCES}: hearts_l, hearts_strength_pct_vol", "still", decimals=2,
    ),
    Measure(
        "congeners", "Congeners of the rectified spirit", "g/hL pa", "rectify", "lower",
        "All volatile congeners measured, methanol apart, in grams over hectolitres of pure alcohol; a result below "
        "its limit of quantification counts with that limit.",
        "derived.laboratory.per_alcohol_g_hl", "still", decimals=2,
    ),
    Measure(
        "methanol", "Methanol of the rectified spirit", "g/hL pa", "rectify", "lower",
        "Grams of methanol over hectolitres of pure alcohol.",
        "derived.laboratory.per_alcohol_g_hl", "still", decimals=2,
    ),
    Measure(
        "botanical_recovery", "Recovery of botanical runs", "%", "botanical", "higher",
        "LPA in the hearts over LPA charged.", f"{_BALANCES}: hearts_l, alcohol_in_l", "recipe", alcohol="gained",
    ),
    Measure(
        "botanical_unaccounted", "Botanical runs, unaccounted loss", "%", "botanical", "lower",
        "LPA charged less LPA of all parts out, over LPA charged.",
        f"{_BALANCES}: loss_l, alcohol_in_l", "recipe", decimals=2, alcohol="lost",
    ),
    Measure(
        "botanical_hearts_share", "Botanical runs, hearts share", "%", "botanical", "higher",
        "LPA in the hearts over LPA in heads, hearts and tails.",
        f"{_BALANCES}: heads_l, hearts_l, tails_l", "recipe", decimals=2,
    ),
    Measure(
        "botanical_hearts_strength", "Botanical runs, strength of the hearts", "% vol", "botanical", "target",
        "LPA in the hearts over their volume.",
        f"{_BALANCES}: hearts_l, hearts_strength_pct_vol", "recipe", decimals=2,
    ),
    Measure(
        "botanical_cut_strength", "Botanical runs, strength at the cut", "% vol", "botanical", "target",
        "Parrot strength as read, mean of the ten minutes before the cut from hearts to tails.",
        "derived.run_curves.hearts_to_at, typed.log_rows", "recipe",
    ),
    Measure(
        "reduction_accuracy", "Reduction, strength reached less label", "% vol", "reduce", "target",
        "Strength after reduction less label strength, weighted by volume.",
        "derived.gauges (reduce, out), house profile", "", decimals=3, target=0.0,
    ),
    Measure(
        "label_deviation", "Laboratory strength less label", "% vol", "bottle", "target",
        "Strength by the laboratory less label strength, both as the label states it (20 °C; in the United States "
        "60 °F), weighted by bottles.",
        "derived.bottlings.label_deviation_pct_vol", "", "batch", 3, 0.0,
    ),
    Measure(
        "fill_deviation", "Fill less nominal", "mL", "bottle", "target",
        "Mean net contents of the sampled bottles less the nominal quantity, at 20 °C (in the United States 60 °F), "
        "weighted by bottles.",
        "derived.bottlings: fill_mean_ml, nominal_ml", "", "batch", 2, 0.0,
    ),
    Measure(
        "fill_scatter", "Fill, scatter within a batch", "mL", "bottle", "lower",
        "Standard deviation of the net contents of the sampled bottles, weighted by bottles.",
        "derived.bottlings.fill_sd_ml", "", "batch", 2,
    ),
    Measure(
        "reject_rate", "Rejected bottles", "%", "bottle", "lower",
        "Bottles rejected over bottles filled and rejected.",
        "derived.bottlings: bottles_rejected, bottles_filled", "", "batch", 2,
    ),
    Measure(
        "bottling_loss", "Bottling loss", "%", "bottle", "lower",
        "LPA drawn by the bottling run less LPA bottled, over LPA drawn.",
        "derived.bottlings: alcohol_in_l, alcohol_bottled_l", "", "batch", 2, alcohol="lost",
    ),
    Measure(
        "grain_to_bottle", "Grain to bottle", "%", "house", "higher",
        "LPA bottled of what was fermented here over LPA predicted from the batch's share of the material behind it.",
        "derived.batch_yields: own_alcohol_l, predicted_alcohol_l", "product", "batch",
    ),
    Measure(
        "days_grain_to_bottle", "Time from grain to bottle", "days", "house", "lower",
        "Days from the first mash behind a batch to its bottling, weighted by LPA.",
        "derived.batch_yields: days_grain_to_bottle", "product", "batch", watched=False,
    ),
    Measure(
        "right_first_time", "Right first time", "%", "house", "higher",
        "Batches released at their first decision, before which no flag that stops release stood and nothing of their "
        "finishing was amended, and which were not worked up again, over batches checked.",
        "history.decisions, history.flag_events, typed.amendments", "", "batch", 0,
    ),
    Measure(
        "evaporation", "Evaporation in casks", "%", "cask", "lower",
        "LPA lost from gauge to gauge over the LPA-years that lay in the casks, per cent a year; what the wood took up "
        "is in it; casks outside the band of casks like them are left out.",
        "derived.cask_losses: loss_l, held_l; derived.evaporation.is_outlier", "casks", "gauging", 2, watched=False,
    ),
    Measure(
        "dispatched_bottles", "Bottles dispatched", "bottles", "dispatch", "higher",
        "Bottles on a dispatch document; a month is their sum.",
        "derived.removals: pieces, duty_status", "duty_status", "dispatch", 0, watched=False, adds_up=True,
    ),
    Measure(
        "dispatched_alcohol", "Alcohol dispatched", "LPA", "dispatch", "higher",
        "LPA on a dispatch document, in bottles or in bulk; a month is their sum.",
        "derived.removals: alcohol_l, duty_status", "duty_status", "dispatch", 1, watched=False, adds_up=True,
    ),
    Measure(
        "utilisation", "Utilisation of the stills", "%", "house", "higher",
        "Hours that the still ran over hours since its run before ended.",
        "derived.runs: started_at, ended_at", "still", watched=False,
    ),
)  # fmt: skip

BY_CODE = {measure.code: measure for measure in MEASURES}
PROPORTIONS = ("reject_rate", "right_first_time")  # counts over counts
SAMPLES = {"fill_deviation": "means", "fill_scatter": "spreads"}  # points that stand for several values: X-bar and S
SAME_PAGE = {"fill_scatter": "fill_deviation"}  # measures drawn on the page of another

"""The sampled net contents of a batch in words and as a drawing, by the law of its product and by no other."""

from gaugebook.checks.rulebook.published_limits import read_limits
from gaugebook.reports.dossier.charts import FillEdge, fill_strip
from gaugebook.reports.dossier.records import Batch
from gaugebook.reports.dossier.stages import Chart
from gaugebook.reports.page.language import Language


def fill_facts(batch: Batch, language: Language) -> list[tuple[str, str]]:
    """What the law asks of the sample and what was found: terms and their words."""
    facts = {"EU": _reference_test, "US": _variation}.get(batch.bottling.jurisdiction or "", _no_law)
    return [(language.say(f"bottling.{term}"), words) for term, words in facts(batch, language)]


def _reference_test(batch: Batch, language: Language) -> list[tuple[str, str]]:
    """Directive 76/211/EEC: the tolerable negative error, and the plan for so many bottles."""
    bottling = batch.bottling
    facts = []
    if batch.fills:
        below = language.say("bottling.below", n=bottling.fills_below_tne or 0)
        twice = language.say("bottling.twice", n=bottling.fills_below_2tne or 0)
        tne = language.number(bottling.tolerable_negative_error_ml, 1)
        facts.append(("tne", language.say("bottling.tne_is", tne=tne, below=below, twice=twice)))
    if bottling.fills_asked is not None:
        asked = {"asked": bottling.fills_asked, "filled": language.number(bottling.bottles_filled)}
        numbers = {"accept": bottling.accepted_below_tne, "reject": bottling.rejected_below_tne}
        is_judged = bottling.accepted_below_tne is not None
        figures_shown = numbers if is_judged else {"n": len(batch.fills)}
        facts.append(
            (
                "plan",
                language.say("bottling.plan_is" if is_judged else "bottling.plan_too_small", **asked, **figures_shown),
            )
        )
    return facts


def _variation(batch: Batch, language: Language) -> list[tuple[str, str]]:
    """27 CFR 19.356(b): how far a bottle may vary, and overfills beside underfills."""
    bottling = batch.bottling
    law = read_limits().variation("US", bottling.nominal_ml)
    if not batch.fills or law is None:
        return []
    greatest = max(abs(fill - bottling.nominal_ml) for fill in batch.fills) / bottling.nominal_ml
    most = f"{language.number(100 * law.most, 1)} %"
    sentence = language.say("bottling.variation_is", most=most, greatest=f"{language.number(100 * greatest, 2)} %")
    balance = language.say("bottling.balance_is", over=bottling.fills_over, under=bottling.fills_under)
    return [("variation", sentence), ("balance", balance)]


def _no_law(batch: Batch, language: Language) -> list[tuple[str, str]]:
    jurisdiction = batch.bottling.jurisdiction
    key = "bottling.no_law" if jurisdiction else "bottling.no_product"
    return [("law", language.say(key, jurisdiction=jurisdiction or ""))] if batch.fills else []


def fill_chart(batch: Batch, language: Language) -> Chart | None:
    """The sampled fills beside nominal and what the law allows; None where there are none."""
    if not batch.fills:
        return None
    bottling = batch.bottling
    tne, n = bottling.tolerable_negative_error_ml, len(batch.fills)
    law = read_limits().variation(bottling.jurisdiction or "", bottling.nominal_ml)
    edges: list[FillEdge] = []
    caption = language.say("bottling.caption", n=n)
    if tne is not None:
        edges = [FillEdge(bottling.nominal_ml - tne, language.say("bottling.floor"))]
        caption = language.say("bottling.caption_tne", n=n, tne=language.plain(tne))
    elif law is not None:
        reach = law.most * bottling.nominal_ml
        edges = [
            FillEdge(bottling.nominal_ml - reach, language.say("bottling.floor_us")),
            FillEdge(bottling.nominal_ml + reach, language.say("bottling.ceiling_us"), is_floor=False),
        ]
        caption = language.say("bottling.caption_us", n=n, most=f"{language.number(100 * law.most, 1)} %")
    axis = language.say("bottling.axis_60f" if bottling.jurisdiction == "US" else "bottling.axis")
    return Chart(fill_strip(batch.fills, bottling.nominal_ml, edges, axis, language), caption)

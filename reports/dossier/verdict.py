"""May the batch go? What the flags and the house's own rules say of it, in words; a person decides."""

from dataclasses import dataclass

from gaugebook.checks.rulebook.softening import Grade, widened
from gaugebook.reports.dossier.records import Batch, Flag, FlagState, Standing
from gaugebook.reports.page.language import Language


@dataclass(frozen=True)
class Verdict:
    """The first thing that a reader of a dossier looks for."""

    sign: str  # clear, to explain, stopped, unknown: also the shape that is drawn
    headline: str
    sentence: str
    house: tuple[str, ...] = ()  # what the house profile lowers of rules of law, and whom it lets decide


def verdict(batch: Batch, language: Language) -> Verdict:
    """The batch's standing as a headline and one sentence."""
    standing = batch.standing
    if standing is None:
        return Verdict(
            "unknown", language.say("verdict.unknown"), language.say("verdict.unknown_why"), _by_house(batch, language)
        )
    words = {
        "stops": language.say("verdict.stops", n=standing.stops_release),
        "explain": language.say("verdict.explain", n=standing.needs_explanation),
        "rest": language.say("verdict.inform", n=standing.for_information),
    }
    headline = language.say(f"verdict.{standing.standing.replace(' ', '_')}")
    sentence = language.say(f"verdict.{_key(standing)}", **words)
    return Verdict(standing.standing, headline, sentence, _by_house(batch, language))


def _key(standing: Standing) -> str:
    """What is said of the flags; a batch that none of them stops can be stopped by the house profile."""
    if standing.standing == "stopped" and not standing.stops_release:
        return "house_stops_and_explain" if standing.needs_explanation else "house_stops"
    if standing.stops_release:
        return "stopped_and_explain" if standing.needs_explanation else "stopped_only"
    return "explain_only" if standing.needs_explanation else "nothing"


def _by_house(batch: Batch, language: Language) -> tuple[str, ...]:
    """What a reader must know of the rules by which the batch was judged, before believing the verdict."""
    sentences = []
    for grade, key in ((Grade.BELOW, "below_law"), (Grade.EASED, "eased")):
        rules = [rule.rule for rule in batch.rules_in_force if rule.softened == grade.value]
        if rules:
            sentences.append(language.say(f"verdict.{key}", n=len(rules), rules=", ".join(rules)))
    wider = widened(batch.house.decisions)
    if wider.may_decide:
        roles = ", ".join(language.name("role", role) for role in wider.may_decide)
        sentences.append(language.say("verdict.decide_too", roles=roles))
    if wider.may_overrule:
        sentences.append(language.say("verdict.overrule", people=", ".join(wider.may_overrule)))
    return tuple(sentences)


def in_the_way(batch: Batch) -> tuple[Flag, ...]:
    """Flags that stop the release whatever was said of them, and those that still need an explanation; the graver
    first."""
    return tuple(flag for flag in batch.flags if flag.severity == "stops release" or _awaits(batch, flag))


def settled(batch: Batch) -> tuple[tuple[Flag, FlagState], ...]:
    """Flags that were explained or accepted, with who said so and why."""
    lifecycles = ((flag, batch.flag_states.get(flag.flag)) for flag in batch.flags)
    return tuple(
        (flag, lifecycle) for flag, lifecycle in lifecycles if lifecycle is not None and lifecycle.state != "open"
    )


def _awaits(batch: Batch, flag: Flag) -> bool:
    return flag.severity == "needs explanation" and batch.state_of(flag) == "open"

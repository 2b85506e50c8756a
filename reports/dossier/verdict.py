"""May the batch go? What the flags say of it, in words; a person decides."""

from dataclasses import dataclass

from reports.dossier.records import Batch, Flag, FlagState
from reports.page.language import Language


@dataclass(frozen=True)
class Verdict:
    """The first thing that a reader of a dossier looks for."""

    sign: str  # clear, to explain, stopped, unknown: also the shape that is drawn
    headline: str
    sentence: str


def verdict(batch: Batch, language: Language) -> Verdict:
    """The batch's standing as a headline and one sentence."""
    standing = batch.standing
    if standing is None:
        return Verdict("unknown", language.say("verdict.unknown"), language.say("verdict.unknown_why"))
    words = {
        "stops": language.say("verdict.stops", n=standing.stops_release),
        "explain": language.say("verdict.explain", n=standing.needs_explanation),
        "rest": language.say("verdict.inform", n=standing.for_information),
    }
    key = {"stopped": "stopped_only", "to explain": "explain_only"}.get(standing.standing, "nothing")
    if key == "stopped_only" and standing.needs_explanation:
        key = "stopped_and_explain"
    headline = language.say(f"verdict.{standing.standing.replace(' ', '_')}")
    return Verdict(standing.standing, headline, language.say(f"verdict.{key}", **words))


def in_the_way(batch: Batch) -> tuple[Flag, ...]:
    """Flags that stop the release whatever was said of them, and those that still need an explanation; the graver
    first."""
    return tuple(flag for flag in batch.flags if flag.severity == "stops release" or _awaits(batch, flag))


def settled(batch: Batch) -> tuple[tuple[Flag, FlagState], ...]:
    """Flags that were explained or accepted, with who said so and why."""
    lives = ((flag, batch.flag_states.get(flag.flag)) for flag in batch.flags)
    return tuple((flag, life) for flag, life in lives if life is not None and life.state != "open")


def _awaits(batch: Batch, flag: Flag) -> bool:
    return flag.severity == "needs explanation" and batch.state_of(flag) == "open"

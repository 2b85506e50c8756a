"""May the batch go? What the flags say of it, in words; a person decides."""

from dataclasses import dataclass

from reports.records import Batch, Flag
from reports.wording import plural


@dataclass(frozen=True)
class Verdict:
    """The first thing that a reader of a dossier looks for."""

    sign: str  # clear, to explain, stopped, unknown: also the shape that is drawn
    headline: str
    sentence: str


def verdict(batch: Batch) -> Verdict:
    """The batch's standing as a headline and one sentence."""
    standing = batch.standing
    if standing is None:
        return Verdict(
            "unknown",
            "Cannot be said yet",
            'The rules have not been applied to this batch: give the command "check" first.',
        )
    stops, explain = standing.stops_release, standing.needs_explanation
    rest = f"; {plural(standing.for_information, 'flag')} for information" if standing.for_information else ""
    if standing.standing == "stopped":
        also = (
            f", and {plural(explain, 'flag')} {'needs' if explain == 1 else 'need'} an explanation" if explain else ""
        )
        stop = "stops" if stops == 1 else "stop"
        return Verdict("stopped", "May not go", f"{plural(stops, 'flag')} {stop} the release{also}{rest}.".capitalize())
    if standing.standing == "to explain":
        needs = "needs" if explain == 1 else "need"
        return Verdict(
            "to explain",
            "May go once explained",
            f"Nothing stops the release, but {plural(explain, 'flag')} {needs} an explanation on record{rest}.",
        )
    return Verdict("clear", "May go", f"Nothing stands in the way{rest}.")


def told(flag: Flag) -> str:
    """A flag in one line: its record, unless the message opens with it, and the message."""
    opens_with_record = flag.message.lower().startswith(flag.record.lower())
    return flag.message if opens_with_record else f"{flag.record}: {flag.message}"


def in_the_way(batch: Batch) -> tuple[Flag, ...]:
    """Flags that stop the release or need an explanation, the graver first."""
    return tuple(flag for flag in batch.flags if flag.severity != "for information")

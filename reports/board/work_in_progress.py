"""What waits for a person: batches to decide on, flags to explain or put right, changes to look into."""

from gaugebook.pipeline.house.settings import STAGES
from gaugebook.reports.board.board_data import HEADLINES, Plain
from gaugebook.reports.page.wording import plural


def work_in_progress(data: Plain) -> Plain:
    """The first part of the board, put together from its data; numbers are places in its lists."""
    batches, runs = data["batches"], data["runs"]
    waiting = [n for n, batch in enumerate(batches) if batch["state"] in ("waiting", "held")]
    held = sum(batches[n]["state"] == "held" for n in waiting)
    changes, look = _changes(data)
    opened, explain = _open_flags(data)
    return {
        "decide": f"{plural(len(waiting), 'batch', 'batches')} {_verb(len(waiting), 'wait')} for a decision, longest "
        f"waiting first{f'; {held} of them held' if held else ''}.",
        "explain": explain,
        "look": look,
        "waiting": [
            (kind, words, [n for n in waiting if batches[n]["standing"] == kind]) for kind, words in HEADLINES.items()
        ],
        "open": opened,
        "changes": changes,
        "same_day": _same_day(data),
        "measured": list(dict.fromkeys(chart["stage"] for chart in data["charts"])),
        "stages": [stage for stage in STAGES if any(run["stage"] == stage for run in runs)],
        "equipment": sorted({run["equipment"] for run in runs}),
    }


def _open_flags(data: Plain) -> tuple[list[int], str]:
    """Flags in somebody's way, those that stop a release first and the oldest record first, and their number in words.

    A flag that stops a release stays in the way whoever explained it.
    """
    flags = data["flags"]
    stops = [n for n, flag in enumerate(flags) if flag["severity"] == "stops release"]
    explain = [n for n, flag in enumerate(flags) if flag["severity"] == "needs explanation" and flag["state"] == "open"]
    sentence = (
        f"{plural(len(stops), 'flag')} {_verb(len(stops), 'stop')} a release, {len(explain) or 'none'} "
        f"{_verb(len(explain), 'need')} an explanation."
    )
    return [n for part in (stops, explain) for n in sorted(part, key=lambda n: flags[n]["recorded"])], sentence


def _changes(data: Plain) -> tuple[list[Plain], str]:
    """Changes that chance does not explain, with how many they are; where there is none, what has signals."""
    if data["changes"]:
        return data["changes"], data["headline"]
    signals = [chart for chart in data["charts"] if any(chart["signal"])]
    if signals:
        charts = plural(len(data["charts"]), "chart")
        sentence = f"{len(signals)} of {charts} with points that complete a run rule, as chance may."
        return [
            {"slug": chart["slug"], "sentence": _signals(chart), "also": [], "batches": []} for chart in signals
        ], sentence
    return [], "No change on the charts." if data["charts"] else "There is no chart yet."


def _signals(chart: Plain) -> str:
    return f"{chart['title']}: {plural(sum(map(bool, chart['signal'])), 'point')}."


def _same_day(data: Plain) -> str:
    days = {flag["raised"] for flag in data["flags"]}
    if len(days) != 1 or len(data["flags"]) < 2:
        return ""
    return f"All flags were first raised on {days.pop()}: the day of the record tells more than their age in the book."


def _verb(count: int, verb: str) -> str:
    return f"{verb}s" if count == 1 else verb

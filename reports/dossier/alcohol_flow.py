"""The alcohol balance as a drawing: a bar a stage and a band to the next, every height litres of pure alcohol.

All bars hang from one line, so what goes on is the upper band; what leaves the chain (heads, tails, spent, loss, other
batches) stands below it as a short stub with its own grey, and is named with its litres under the bar.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup

from gaugebook.reports.dossier.records import Balance
from gaugebook.reports.page.drawing import INK, SMALL, SOFT, Drawing
from gaugebook.reports.page.language import Language

_TOP, _HIGHEST, _LINE = 25.0, 76.0, 9.2  # room for headings; the greatest charge; a line of the list [pt]
_BAR, _STUB = 5.0, 13.0  # widths of a bar and of a stub [pt]
_LEAST = 0.35  # so thin is still seen [pt]
_TOLD = 0.05  # less than this would be printed as 0.0 [LPA]
_PT_PER_CM = 72 / 2.54
# Fill, outline and dash of each way out; no two look alike without colour.
_LOOKS = {
    "heads": ("#1a1a1a", "none", ""),
    "tails": ("#6b6b6b", "none", ""),
    "spent": ("#c4c4c4", "none", ""),
    "loss": ("white", INK, "1.5,1.2"),
    "elsewhere": ("white", INK, ""),
    "from_store": ("#e4e4e4", SOFT, ""),
    "gain": ("white", SOFT, "0.6,1"),
}


@dataclass(frozen=True)
class Step:
    """A stage of the flow: what it took, what went on, and what left the chain or came into it [LPA]."""

    title: str
    taken: float
    onward: float
    side: tuple[tuple[str, float], ...]

    @property
    def named(self) -> tuple[tuple[str, float], ...]:
        """Of what left or came in, what is drawn and named."""
        return tuple((name, litres) for name, litres in self.side if litres >= _TOLD)


def flow_steps(stages: Sequence[tuple[str, Balance]]) -> tuple[Step, ...]:
    """The steps of the flow from the balances of the stages, in the order of the chain; stages without both sides, or
    with a gauge missing, of which the bands would not add up, are left out."""
    known = [(title, b) for title, b in stages if b.alcohol_in_l and b.hearts_l is not None and not b.missing_gauges]
    steps = []
    for place, (title, balance) in enumerate(known):
        hearts_l = balance.hearts_l or 0.0
        wanted = known[place + 1][1].alcohol_in_l if place + 1 < len(known) else hearts_l
        before = known[place - 1][1].hearts_l if place else None
        taken = balance.alcohol_in_l or 0.0
        onward = min(hearts_l, wanted or 0.0)
        loss = balance.loss_l or 0.0
        side = {
            "from_store": max(taken - before, 0.0) if before is not None else 0.0,
            "heads": balance.heads_l or 0.0,
            "tails": balance.tails_l or 0.0,
            "spent": balance.spent_l or 0.0,
            "loss": max(loss, 0.0),
            "gain": max(-loss, 0.0),
            "elsewhere": hearts_l - onward,
        }
        steps.append(Step(title, taken, onward, tuple((name, litres) for name, litres in side.items() if litres > 0)))
    return tuple(steps)


def litres_per_cm(steps: Sequence[Step]) -> float:
    """What a centimetre of height stands for [LPA]."""
    return max(step.taken for step in steps) / _HIGHEST * _PT_PER_CM


def flow_figure(steps: Sequence[Step], language: Language, width: float = 480.0) -> Markup:
    """The flow as a drawing; there must be a step."""
    per_litre = _HIGHEST / max(step.taken for step in steps)
    deepest = max(_depth(step, per_litre) for step in steps)
    lines = max(len(step.named) for step in steps)
    drawing = Drawing(width, _TOP + deepest + 12 + lines * _LINE, language.say("flow.title"))
    pitch = (width - 40) / len(steps)
    for place, step in enumerate(steps):
        x = place * pitch + 2
        last = place + 1 == len(steps)
        end = x + (0.55 * pitch if last else pitch)
        band = max(step.onward * per_litre, _LEAST)
        drawing.box(x + _BAR, _TOP, end - x - _BAR, band, fill="#cfcfcf")
        if last:
            drawing.text(end + 3, _TOP + 6, language.stated(step.onward, None, "LPA"), bold=True)
        drawing.box(x, _TOP, _BAR, max(step.taken * per_litre, _LEAST), fill=INK)
        drawing.text(x, _TOP - 14, step.title, bold=True, widest=pitch - 6)
        taken = language.say("flow.in", value=language.stated(step.taken, None, "LPA"))
        drawing.text(x, _TOP - 5, taken, ink=SOFT, widest=pitch - 6)
        _sides(drawing, step, x, band, per_litre, language, _TOP + deepest + 12, pitch)
    return drawing.svg()


def _depth(step: Step, per_litre: float) -> float:
    out = sum(litres for name, litres in step.side if name not in ("from_store", "gain"))
    return max(step.taken, step.onward + out) * per_litre


def _sides(drawing: Drawing, step: Step, x: float, band: float, per_litre: float, language: Language, below: float,
           pitch: float) -> None:  # fmt: skip
    """The stubs beside the bar, and under it the list that says what each is."""
    y = _TOP + band
    for line, (name, litres) in enumerate(step.named):
        fill, ink, dash = _LOOKS[name]
        tall = max(litres * per_litre, _LEAST)
        if name == "from_store":  # it came in, so it stands before the bar, at its foot
            foot = _TOP + step.taken * per_litre
            drawing.box(x - 7, foot - tall, 7, tall, fill=fill, ink=ink, weight=0.4, dash=dash)
        elif name != "gain":
            drawing.box(x + _BAR, y, _STUB, tall, fill=fill, ink=ink, weight=0.4, dash=dash)
            y += tall
        at = below + line * _LINE
        drawing.box(x, at - 5, 5.5, 5.5, fill=fill, ink=ink, weight=0.4, dash=dash)
        words = f"{language.say(f'flow.{name}')} {language.bare(litres, None, 'LPA')}"
        drawing.text(x + 8.5, at, words, size=SMALL - 0.2, widest=pitch - 10)

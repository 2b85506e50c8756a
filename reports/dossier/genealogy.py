"""Where a batch came from, as one figure: stages in columns, grain at the left, bottles at the right.

Runs of a stage that went the same way are folded into one box with their number and alcohol, and received lots of
one material into one, so the figure stays legible however many lots stand behind a batch.
"""

from collections import defaultdict
from dataclasses import dataclass

from markupsafe import Markup

from gaugebook.reports.dossier.records import Batch, Edge, Stage
from gaugebook.reports.page.drawing import FAINT, INK, SOFT, Drawing
from gaugebook.reports.page.language import Language

SHELF = 4  # more materials than this into one stage are told together
FOLD_FROM = 3  # so many runs that went the same way become one box
MOST_BOXES = 7  # more boxes than this in a column are folded into one
_Received = tuple[str, str, list[Edge], bool]  # stage that took the lots, material, edges, lots unknown
_BOX = 46.0  # height of a box [pt]
_HEAD = 18.0  # room for the headings of the columns [pt]


@dataclass(frozen=True)
class Box:
    """One box: some runs of a stage, or received lots of one material."""

    column: int
    title: str
    lines: tuple[str, ...]
    received: bool = False
    unknown: bool = False


@dataclass(frozen=True)
class Layout:
    """Boxes by name, and the links between them with the share of the batch's alcohol that went along them."""

    boxes: dict[str, Box]
    links: dict[tuple[str, str], float | None]
    headings: tuple[str, ...]  # names of stages, "received" first


def genealogy_layout(batch: Batch, language: Language) -> Layout:
    """Fold the batch's lineage into boxes and links; no place on paper yet."""
    columns = {stage.name: position for position, stage in enumerate(batch.stages, start=1)}
    box_of_run = _fold(batch)
    members = defaultdict(list)
    for run, name in box_of_run.items():
        members[name].append(run)
    boxes = {}
    for stage in batch.stages:
        for name in dict.fromkeys(box_of_run[run.run] for run in stage.runs):
            boxes[name] = _run_box(batch, stage, members[name], columns[stage.name], language)
    links: dict[tuple[str, str], float | None] = {}
    for name, (stage_name, material, edges, unknown) in _folded(
        _received(batch, box_of_run, language), language
    ).items():
        lots = sorted({edge.lot for edge in edges})
        quantity = sum(edge.quantity or 0.0 for edge in edges)
        basis = edges[0].basis or ""
        label = lots[0] if len(lots) == 1 else language.say("genealogy.lots", n=len(lots))
        lines = (label, language.stated(quantity, None, basis))
        boxes[name] = Box(columns[stage_name] - 1, material, lines, received=True, unknown=unknown)
        for edge in edges:
            links[name, box_of_run[edge.run]] = None
    makers = _makers(batch)
    for edge in batch.edges:
        if (maker := makers.get(edge.lot)) is not None and maker in box_of_run and edge.run in box_of_run:
            pair = (box_of_run[maker], box_of_run[edge.run])
            links[pair] = (links.get(pair) or 0.0) + (edge.share or 0.0)
    return Layout(boxes, links, ("received", *(stage.name for stage in batch.stages)))


def genealogy_figure(layout: Layout, language: Language, width: float = 728.0) -> Markup:
    """The layout as a drawing."""
    most = max(
        (sum(box.column == column for box in layout.boxes.values()) for column in range(len(layout.headings))),
        default=1,
    )
    height = min(max(_HEAD + most * (_BOX + 26), 230.0), 400.0)
    drawing = Drawing(width, height, language.say("genealogy.title"))
    step = width / len(layout.headings)
    box_width = min(step - 14, 118.0)
    left = {column: column * step + (step - box_width) / 2 for column in range(len(layout.headings))}
    top = _tops(layout, height)
    for (start, end), share in sorted(layout.links.items(), key=lambda item: item[0]):
        a, b = layout.boxes[start], layout.boxes[end]
        weight, ink = 0.5 + 3 * min(share or 0.0, 1.0), SOFT if share else FAINT
        if a.column == b.column:  # a run that drew from another of its own stage
            x, above, below = left[a.column] + box_width / 2, *sorted((top[start], top[end]))
            drawing.line(x, above + _BOX, x, below, weight=weight, ink=ink)
            continue
        drawing.curve(left[a.column] + box_width, top[start] + _BOX / 2, left[b.column], top[end] + _BOX / 2,
                      weight=weight, ink=ink)  # fmt: skip
    for column, heading in enumerate(layout.headings):
        words = language.name("stage", heading)
        drawing.text(left[column], 9, words, size=7.5, ink=SOFT, widest=box_width)
    for name, box in layout.boxes.items():
        _draw_box(drawing, box, left[box.column], top[name], box_width)
    return drawing.svg()


def _draw_box(drawing: Drawing, box: Box, x: float, y: float, width: float) -> None:
    drawing.box(
        x,
        y,
        width,
        _BOX,
        fill="white",
        ink=INK,
        weight=1.6 if box.unknown else 0.6,
        dash="2,1.5" if box.received else "",
    )
    if not box.received:
        drawing.line(x, y, x, y + _BOX, weight=2.2)
    drawing.text(x + 5, y + 11, box.title, size=7.5, bold=True, widest=width - 8)
    for number, line in enumerate(box.lines, start=1):
        drawing.text(x + 5, y + 11 + 10 * number, line, size=6.8, widest=width - 8)


def _tops(layout: Layout, height: float) -> dict[str, float]:
    """Top of each box: runs spread over the column, received lots on a shelf below them."""
    upper: dict[int, list[str]] = defaultdict(list)
    shelf: dict[int, list[str]] = defaultdict(list)
    for name, box in layout.boxes.items():
        (shelf if box.received and box.column > 0 else upper)[box.column].append(name)
    room = height - _HEAD - max((len(names) for names in shelf.values()), default=0) * (_BOX + 8)
    tops = {}
    for names in upper.values():
        pitch = max(room / len(names), _BOX + 4)
        tops.update({name: _HEAD + (place + 0.5) * pitch - _BOX / 2 for place, name in enumerate(names)})
    for names in shelf.values():
        tops.update({name: height - (place + 1) * (_BOX + 8) + 4 for place, name in enumerate(names)})
    return tops


def _makers(batch: Batch) -> dict[str, str]:
    """The run that made each lot, as far as it stands in the batch's ancestry."""
    return {edge.into_lot: edge.run for edge in batch.edges}


def _fold(batch: Batch) -> dict[str, str]:
    """Name of the box of each run, from the bottles backwards: runs that fed the same boxes go together."""
    makers = _makers(batch)
    fed = defaultdict(set)
    for edge in batch.edges:
        if edge.lot in makers:
            fed[makers[edge.lot]].add(edge.run)
    box_of_run: dict[str, str] = {}
    for stage in reversed(batch.stages):
        groups = defaultdict(list)
        for run in stage.runs:
            groups[frozenset(box_of_run.get(target, target) for target in fed[run.run])].append(run.run)
        boxes = [
            part for runs in groups.values() for part in ([runs] if len(runs) >= FOLD_FROM else [[run] for run in runs])
        ]
        if len(boxes) > MOST_BOXES:
            boxes = [[run.run for run in stage.runs]]
        for runs in boxes:
            box_of_run.update(dict.fromkeys(runs, f"{stage.name}: {runs[0]}"))
    return box_of_run


def _run_box(batch: Batch, stage: Stage, runs: list[str], column: int, language: Language) -> Box:
    alcohol = [stage.balances[run].hearts_l for run in runs if run in stage.balances]
    alcohol += [stage.ferments[run].alcohol_l for run in runs if run in stage.ferments]
    known = [value for value in alcohol if value is not None]
    lots_made = sorted({edge.into_lot for edge in batch.edges if edge.run in runs})
    if len(runs) == 1:
        title, lines = (
            runs[0],
            [lots_made[0] if len(lots_made) == 1 else language.say("genealogy.made", n=len(lots_made))],
        )
    else:
        title = language.say("genealogy.runs", n=len(runs), stage=language.name("stage", stage.name))
        lines = [min(runs), language.say("genealogy.last", run=max(runs))]
    return Box(column, title, (*lines, *([language.stated(sum(known), None, "LPA")] if known else [])))


def _folded(received: dict[str, _Received], language: Language) -> dict[str, _Received]:
    """Many materials that went into one stage as one box, each unit by itself; unknown lots always stand alone."""
    shelves: dict[tuple[str, str], list[str]] = defaultdict(list)
    for name, (stage, _, edges, unknown) in received.items():
        if not unknown:
            shelves[stage, edges[0].basis or ""].append(name)
    for (stage, basis), names in shelves.items():
        if len(names) > SHELF:
            edges = [edge for name in names for edge in received.pop(name)[2]]
            received[f"received for {stage} by {basis}"] = (
                stage,
                language.say("genealogy.materials", n=len(names)),
                edges,
                False,
            )
    return received


def _received(batch: Batch, box_of_run: dict[str, str], language: Language) -> dict[str, _Received]:
    """Lots that no run of the ancestry made, by the stage that took them and their material."""
    makers = _makers(batch)
    groups: dict[str, _Received] = {}
    for edge in batch.edges:
        if edge.lot in makers or edge.run not in box_of_run:
            continue
        lot = batch.lots.get(edge.lot)
        unknown = lot is None or lot.origin == "unknown"
        if lot is None or unknown:
            material = language.say("genealogy.unknown")
        else:
            material = language.name("part", lot.material) if lot.material else language.say("genealogy.received")
        name = f"received for {edge.stage}: {material}" + (f" {edge.lot}" if unknown else "")
        groups.setdefault(name, (edge.stage, material, [], unknown))[2].append(edge)
    return groups

"""The layout as a drawing: track, joints and feeds, from the description alone; findings where they are.

All geometry is decided here, in millimetres; the renderer only writes it down.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from datetime import date
from functools import cached_property
from pathlib import PurePath

from attrs import field, frozen

from blockcheck.analysis.study import Study
from blockcheck.answers.answer import Answer
from blockcheck.answers.located import located
from blockcheck.circuit.state import OFF, ON, TRICKLE, WORKING, Now
from blockcheck.core.findings import Finding, Severity
from blockcheck.core.natural import natural_key
from blockcheck.core.shown import plain
from blockcheck.core.spans import Place
from blockcheck.drawing.entries import Entry, Mark, Piece, Switch, draw_line, draw_piece, switch_sign
from blockcheck.drawing.feeds import cards
from blockcheck.drawing.meetings import UNKNOWN, Track, track
from blockcheck.drawing.names import compact
from blockcheck.drawing.panel import Panel
from blockcheck.drawing.plan import plan
from blockcheck.drawing.shapes import BODY, NAME, SMALL, TITLE, Box, Canvas, Line, Text, short, text_width
from blockcheck.drawing.track import draw_panel, panel_height, panel_width
from blockcheck.model.layout import Isolator
from blockcheck.model.operate import open_position
from blockcheck.model.select import select_isolators
from blockcheck.model.wiring import usual_position

EDGE_MM = 1.0
"""Around everything, so that no stroke is cut off."""
WIDTH_MM = 188.0
PAGE_MM = 277.0
"""What A4 has inside margins of 10 mm, 190 mm wide with the edges; nothing that fits a page lies across its end."""
MOST_CARD_ROWS = 32
"""Rows of a card of the feeds; a longer one goes on in another."""
MOST_FINDINGS = 60
"""Findings that are marked and listed; the rest is counted."""
CAUTION = (
    "Drawn from the description, not from what was soldered; not to scale. Confirm with a meter before power is "
    "switched on. Protect every booster and district by itself; mains wiring and supplies are outside this tool: local "
    "codes and licensed electricians decide."
)


@frozen
class Drawing(Answer):
    """A layout drawn, in millimetres from the upper left corner; text is set on its baseline."""

    command = "draw"

    layout: str
    title: str
    description: str
    scenario: str | None
    opened: tuple[str, ...]
    width_mm: float
    height_mm: float
    boxes: tuple[Box, ...]
    lines: tuple[Line, ...]
    labels: tuple[Text, ...]

    @property
    def sheets(self) -> int:
        """How many sheets of A4, upright, it takes."""
        return int(-(-self.height_mm // PAGE_MM))


def drawing(study: Study, scenario: str | None = None, opened: str | None = None, today: date | None = None) -> Drawing:
    """Draw a layout as it usually stands or in a scenario, with the isolators of a selection open.

    ``today`` (default: the day it is) is what the dates of exceptions are held against. Raises CallError for a
    scenario or a selection that the layout does not have.
    """
    return _Drawer(study, scenario, opened, today or date.today()).drawing()


@frozen(eq=False, slots=False)
class _Drawer:
    study: Study
    scenario: str | None
    asked: str | None
    today: date
    canvas: Canvas = field(factory=Canvas, init=False)

    @cached_property
    def track(self) -> Track:
        return track(self.study.wiring)

    @cached_property
    def opened(self) -> tuple[str, ...]:
        return () if self.asked is None else select_isolators(self.study.wiring, self.asked)[0]

    @cached_property
    def positions(self) -> Mapping[str, str]:
        """Control -> position, for those that were moved."""
        found = dict(self.study.operation(self.scenario).positions)
        found.update(cuts(self.study, self.opened))
        return found

    @cached_property
    def now(self) -> Now:
        return self.study.now(self.positions)

    @cached_property
    def findings(self) -> tuple[Finding, ...]:
        from blockcheck.rules import run

        return tuple(run(self.study, self.today).findings)

    @cached_property
    def marks(self) -> Mapping[tuple[str, str], tuple[Mark, ...]]:
        """Table and name -> the findings that belong there, by number."""
        found: dict[tuple[str, str], list[Mark]] = {}
        for number, finding in enumerate(self.findings[:MOST_FINDINGS], 1):
            for place in self._places(finding):
                found.setdefault(place, []).append(Mark(number, finding.severity.value, finding.rule))
        return {place: tuple(marks) for place, marks in found.items()}

    def _places(self, finding: Finding) -> dict[tuple[str, str], None]:
        """Where a finding is marked: at what it points to, and at every block that it names."""
        wiring = self.study.wiring
        found: dict[tuple[str, str], None] = {}
        path = () if isinstance(finding.at, Place) else finding.at
        if len(path) > 1:
            found[str(path[0]), str(path[1])] = None
            if path[0] == "isolators":
                found.update({("blocks", block): None for block in wiring.switched.get(str(path[1]), ())})
        for name in (finding.subject, *finding.others):
            if name in wiring.layout.blocks:
                found["blocks", name] = None
        return found

    @cached_property
    def marked_joints(self) -> frozenset[int]:
        return frozenset(int(name) for table, name in self.marks if table == "joints")

    def switch(self, isolator: Isolator, pole: int) -> Switch:
        """How a pole of an isolator stands."""
        wiring = self.study.wiring
        position = self.now.state.get(isolator.name, usual_position(wiring, isolator))
        name = isolator.name if pole == 1 else f"{isolator.name}.{pole}"
        throw = None
        if isolator.contact == "changeover":
            between = [*map(str, isolator.between or ())]
            throw = between.index(position) if position in between else -1
        return Switch(name, position, position == open_position(wiring, isolator.name), throw)

    @cached_property
    def entries(self) -> Mapping[str, Entry]:
        """Block -> what is written about it."""
        return {name: self._entry(name) for name in self.study.wiring.fed}

    def _entry(self, name: str) -> Entry:
        wiring, now = self.study.wiring, self.now
        fed = wiring.fed[name]
        switches = []
        if fed.isolator is not None and fed.block.isolator is not None:
            switches.append(self.switch(fed.isolator, fed.block.isolator.pole))
        if fed.board is not None:
            for isolator, pole in wiring.bank_isolators.get((fed.board.name, fed.bank), ()):
                if isolator is not fed.isolator:
                    switches.append(self.switch(isolator, pole))
        power = now.power(name) if name in self.study.circuit.detected else None
        word = "feed not known"
        if power is not None:
            detection = now.detection(name) if fed.channel is not None else WORKING
            word = power if detection == WORKING else f"{power}, {detection}"
            if word == ON and not self.told:
                word = ""
        channel = str(fed.channel) if fed.channel is not None else None
        return Entry(
            name,
            wiring.tracks.get(name),
            channel,
            tuple(switches),
            power,
            word,
            self.marks.get(("blocks", name), ()),
            name in self.track.flipped,
            channel is None and bool(self.study.layout.boards),
        )

    @property
    def told(self) -> bool:
        """Whether a state was asked for, so that every block tells its own."""
        return self.scenario is not None or self.asked is not None

    def drawing(self) -> Drawing:
        layout = self.study.layout
        panels = self._panels()
        body = Canvas()
        flow = _Flow(body)
        head = self._head()
        flow.put(head, head.bottom + 2.5)
        for panel in panels:
            drawn = draw_panel(panel, self.entries, self.marked_joints, WIDTH_MM)
            flow.put(drawn, drawn.bottom + 2.8)
        self._listing(flow)
        self._feeds(flow)
        self._legend(flow, panels)
        wide = body.right > WIDTH_MM + 0.05
        width = max(WIDTH_MM, _up(body.right)) + 2 * EDGE_MM
        foot = 3.0 + EDGE_MM  # for the line that tells the size
        height = _up(_on_page(flow.y, foot) + foot)
        sheets = int(-(-height // PAGE_MM))
        size = f"{width:g} × {height:g} mm"
        fits = "one sheet of A4" if sheets == 1 else f"{sheets} sheets of A4"
        if wide:
            fits = "wider than A4: print it scaled to the page, or on wider paper"
        body.label("size", f"Size {size}: {fits}.", (0, height - 2 * EDGE_MM), SMALL)
        page = Canvas()
        page.put(body, EDGE_MM, 0)
        title = f"{plain(layout.about.name, 200)}: schematic of track and feeds"
        return Drawing(
            layout.about.name,
            title,
            self._description(),
            self.scenario,
            self.opened,
            width,
            height,
            tuple(page.boxes),
            tuple(page.lines),
            tuple(page.labels),
        )

    def _panels(self) -> list[Panel]:
        widths = {name: entry.width(stacked=True) for name, entry in self.entries.items()}

        def fits(panel: Panel) -> bool:
            return panel_width(panel, self.entries) <= WIDTH_MM and panel_height(panel) <= PAGE_MM - 25

        return plan(self.track, "Track", fits, widths.__getitem__, WIDTH_MM)

    def _description(self) -> str:
        blocks, findings = len(self.study.layout.blocks), len(self.findings)
        counts = f"{blocks} block{'' if blocks == 1 else 's'}, {findings} finding{'' if findings == 1 else 's'}"
        return f"{self._state()} {counts}."

    def _state(self) -> str:
        """How everything stands, in a sentence or two."""
        usual, text = "As it usually stands", "As it usually stands, but with"
        if self.scenario is not None:
            usual = text = f"In scenario {short(self.scenario, 60)}"
            text += ":"
        where: dict[str, list[str]] = {}
        for name in sorted(self.positions, key=natural_key):
            where.setdefault(self.positions[name], []).append(name)
        parts = [f"{compact(names, 90)} {short(position, 40)}" for position, names in sorted(where.items())]
        return f"{text} {'; '.join(parts)}." if parts else f"{usual}."

    def _head(self) -> Canvas:
        canvas = Canvas()
        y = 0.0
        for line in wrap(plain(self.study.layout.about.name, 200), TITLE, WIDTH_MM, bold=True):
            canvas.label("title", line, (0, y + TITLE), TITLE, bold=True)
            y += TITLE + 1.0
        for line in wrap(f"Schematic of track and feeds. {self._state()}", NAME, WIDTH_MM):
            canvas.label("state", line, (0, y + 3.4), NAME)
            y += 4.2
        return canvas

    def _listing(self, flow: _Flow) -> None:
        """The findings, by number."""
        document = self.study.wiring.document
        shown = self.findings[:MOST_FINDINGS]
        if not shown:
            return
        flow.put(_heading("Findings"), 7.0)
        for number, finding in enumerate(shown, 1):
            canvas = Canvas()
            place = located(finding, document).at
            at = f" ({PurePath(place.file).name}:{place.line})" if isinstance(place, Place) else ""
            lead = (
                Piece(
                    "mark",
                    f"{number} {finding.severity.value}  {finding.rule}",
                    BODY,
                    True,
                    None,
                    finding.severity.value,
                ),
            )
            x = draw_line(canvas, lead, 0, 3.0) + 2.5
            names = compact((finding.subject, *finding.others), 60)
            lines = wrap(f"{names}: {plain(finding.message, 600)}{at}", BODY, WIDTH_MM - 66)
            for index, line in enumerate(lines):
                canvas.label("finding", line, (max(x, 66), 3.0 + 3.6 * index), BODY)
            flow.put(canvas, 3.6 * len(lines) + 1.0)
        left = len(self.findings) - len(shown)
        if left:
            canvas = Canvas()
            canvas.label("finding", f"and {left} more: blockcheck check tells them all", (0, 3.0), BODY)
            flow.put(canvas, 4.6)
        flow.skip(2.0)

    def _feeds(self, flow: _Flow) -> None:
        """The cards, in as many columns as their rows leave room for."""
        if not self.entries:
            return
        share = -(-len(self.entries) // 3) + 2  # so that three columns come out about even
        made = cards(self.study.wiring, self.entries, self.switch, self.marks, min(MOST_CARD_ROWS, max(8, share)))
        space = 4.0
        least = max(card.least for card in made)
        across = max(1, min(3, len(made), int((WIDTH_MM + space) // (least + space))))
        width = max(least, (WIDTH_MM - space * (across - 1)) / across)
        if sum(card.height(width) for card in made) < 2 * PAGE_MM:
            made.sort(key=lambda card: -card.height(width))  # the longest first, so that the columns end about even
        heights = [card.height(width) for card in made]
        flow.put(_heading("Feeds: booster to block"), 7.0, keep=max(heights[:across]))
        flow.columns([card.draw(width) for card in made], heights, across, width + space)

    def _legend(self, flow: _Flow, panels: Iterable[Panel]) -> None:
        canvas = Canvas()
        canvas.label("heading", "Signs", (0, 3.4), NAME, bold=True)
        x, y = 0.0, 8.6
        for width, draw, text in self._signs(list(panels)):
            width += 1.4 if width else 0.0
            whole = width + text_width(text, SMALL)
            if x and x + whole > WIDTH_MM:
                x, y = 0.0, y + 4.9
            draw(canvas, x, y - 0.9)
            canvas.label("sign", text, (x + width, y), SMALL)
            x += whole + 4.5
        lines = wrap(CAUTION, SMALL, WIDTH_MM)
        y += 5.6
        for index, line in enumerate(lines):
            canvas.label("caution", line, (0, y + 3.2 * index), SMALL)
        y += 3.2 * len(lines)
        for line in self._long_names():
            canvas.label("names", line, (0, y), SMALL)
            y += 3.2
        flow.put(canvas, y)

    def _long_names(self) -> Iterator[str]:
        """The names that are not shown whole, whole."""
        layout = self.study.layout
        tables = (layout.blocks, layout.isolators, layout.boards, layout.districts, layout.boosters, layout.turnouts)
        for name in sorted({name for table in tables for name in table}, key=natural_key):
            if short(name) != plain(name, 1000):
                yield from wrap(f"{short(name)} is {plain(name, 1000)}", SMALL, WIDTH_MM)

    def _signs(self, panels: list[Panel]) -> Iterator[tuple[float, Callable[[Canvas, float, float], None], str]]:
        """What the signs that are used mean: width, how to draw it, words."""
        yield 9.0, _rails(ON), "block: detected rail above, common rail below"
        powers = {entry.power for entry in self.entries.values()}
        for power, text in ((OFF, "no power"), (TRICKLE, "a trickle, by a hold resistor")):
            if power in powers:
                yield 9.0, _rails(power), f"{power}: {text}"
        if None in powers:
            yield 9.0, _rails("unknown"), "feed not known"
        if any(", blind" in entry.word or ", held" in entry.word for entry in self.entries.values()):
            yield 0.0, lambda *_: None, "blind: its channel reads clear whatever stands there; held: it still reads"
        gaps = {edge.meeting.gap for panel in panels for edge in panel.edges}
        gaps |= {meeting.gap for panel in panels for meeting in panel.glyphs.values()}
        words = {
            "detected": "joint, detected rail cut",
            "both": "both rails cut",
            "common": "common rail cut",
            "none": "no rail cut",
            UNKNOWN: "joint not described",
        }
        for gap, text in words.items():
            if gap in gaps:
                yield 6.0, _gap(gap), text
        if self.marked_joints:
            yield 6.0, _ringed, "joint with a finding"
        switches = [switch for entry in self.entries.values() for switch in entry.switches]
        if any(switch.throw is None for switch in switches):
            yield 6.0, _switch("closed"), "isolator closed"
            yield 6.0, _switch("open"), "open"
        if any(switch.throw is not None for switch in switches):
            yield 6.0, _switch("first"), "changeover, its position beside it"
            yield 6.0, _switch("off"), "off"
        if any(node.kind == "tag" for panel in panels for node in panel.rows):
            yield 2.0, _arrow, "leads on, drawn elsewhere"
        for severity in Severity:
            if any(finding.severity is severity for finding in self.findings):
                piece = Piece("mark", "1", SMALL, True, None, severity.value)
                yield piece.width, _piece(piece), f"{severity.value}, by its number in the list"


@frozen(eq=False, slots=False)
class _Flow:
    """What comes below what, on pages: nothing that fits one lies across an edge."""

    canvas: Canvas
    _y: list[float] = field(factory=lambda: [0.0])

    @property
    def y(self) -> float:
        return self._y[0]

    def skip(self, height: float) -> None:
        self._y[0] += height

    def put(self, piece: Canvas, height: float, keep: float = 0.0) -> None:
        """Add a piece; ``keep`` is the height of what must stand on the same page below it."""
        self._y[0] = _on_page(self.y, height + keep)
        self.canvas.put(piece, 0, self.y)
        self._y[0] += height

    def columns(self, pieces: list[Canvas], heights: list[float], across: int, step: float) -> None:
        """Add pieces side by side, each where there is most room."""
        ends = [self.y] * across
        for piece, height in zip(pieces, heights, strict=True):
            column = ends.index(min(ends))
            y = _on_page(ends[column], height)
            if y > ends[column]:
                ends = [y] * across  # what is left of this page stays empty, so that the order stays plain
            self.canvas.put(piece, column * step, y)
            ends[column] = y + height
        self._y[0] = max(ends)


def _on_page(y: float, height: float) -> float:
    """Where something begins: here, or on the next page where it would lie across the edge."""
    left = PAGE_MM - y % PAGE_MM
    return y if height <= left or y % PAGE_MM == 0 else y + left


def cuts(study: Study, isolators: Iterable[str]) -> dict[str, str]:
    """The position in which each isolator cuts. Raises CallError for one that has none."""
    from blockcheck.core.errors import CallError

    found = {}
    for name in isolators:
        position = open_position(study.wiring, name)
        if position is None:
            raise CallError(f"{name} has no off position, so it cannot isolate anything")
        found[name] = position
    return found


def wrap(text: str, size: float, width: float, bold: bool = False) -> list[str]:
    """Text broken into lines of at most a width, between words where it can be."""
    lines: list[str] = []
    line = ""
    for word in text.split():
        joined = f"{line} {word}" if line else word
        if text_width(joined, size, bold) <= width:
            line = joined
            continue
        if line:
            lines.append(line)
        line = word
        while text_width(line, size, bold) > width:
            cut = next(n for n in range(len(line), 0, -1) if n == 1 or text_width(line[:n], size, bold) <= width)
            lines.append(line[:cut])
            line = line[cut:]
    return [*lines, line] if line else lines


def _heading(text: str) -> Canvas:
    canvas = Canvas()
    canvas.label("heading", text, (0, 3.4), NAME, bold=True)
    canvas.line("rule", (0, 4.6), (WIDTH_MM, 4.6))
    return canvas


def _up(value: float) -> float:
    return float(-(-(value - 0.05) // 1))


Sign = Callable[[Canvas, float, float], None]


def _rails(state: str) -> Sign:
    def draw(canvas: Canvas, x: float, y: float) -> None:
        canvas.line("detected", (x, y - 0.8), (x + 9, y - 0.8), state=state)
        canvas.line("common", (x, y + 0.8), (x + 9, y + 0.8), state=state)

    return draw


def _gap(gap: str) -> Sign:
    def draw(canvas: Canvas, x: float, y: float) -> None:
        for rail, side in (("detected", y - 0.8), ("common", y + 0.8)):
            if gap == UNKNOWN:
                canvas.line(f"{rail}-unknown", (x, side), (x + 6, side))
            elif gap in (rail, "both"):
                for end, edge in ((x, x + 2.4), (x + 6, x + 3.6)):
                    canvas.line(rail, (end, side), (edge, side))
                    canvas.line("cut", (edge, side - 0.65), (edge, side + 0.65))
            else:
                canvas.line(rail, (x, side), (x + 6, side))

    return draw


def _ringed(canvas: Canvas, x: float, y: float) -> None:
    points = [(2.6, 1.1), (1.1, 2.1), (-1.1, 2.1), (-2.6, 1.1)]
    points += [(-a, -b) for a, b in points]
    canvas.line("ringed", *((x + 3 + a, y + b) for a, b in (*points, points[0])))


def _switch(form: str) -> Sign:
    return lambda canvas, x, y: switch_sign(canvas, x, y, form)


def _arrow(canvas: Canvas, x: float, y: float) -> None:
    canvas.line("arrow", (x, y - 0.8), (x + 1.6, y), (x, y + 0.8), closed=True)


def _piece(piece: Piece) -> Sign:
    return lambda canvas, x, y: draw_piece(canvas, piece, x, y + 0.9)

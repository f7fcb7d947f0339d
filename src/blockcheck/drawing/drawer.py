"""The layout as a picture: track, joints and feeds, from the description alone; findings where they are.

All geometry is decided here, in millimetres; the renderer only writes it down.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from datetime import date
from functools import cached_property
from pathlib import PurePath

from attrs import field, frozen

from blockcheck.analysis.study import Study
from blockcheck.circuit.state import ON, WORKING, Now
from blockcheck.core.findings import Finding
from blockcheck.core.natural import natural_key
from blockcheck.core.shown import plain
from blockcheck.core.spans import Place
from blockcheck.drawing.entries import Entry, Mark, Piece, Switch, draw_line
from blockcheck.drawing.feeds import cards
from blockcheck.drawing.flow import EDGE_MM, PAGE_MM, WIDTH_MM, Flow, heading, on_page, up, wrap
from blockcheck.drawing.legend import signs
from blockcheck.drawing.meetings import Track, track
from blockcheck.drawing.names import compact
from blockcheck.drawing.panel import Panel
from blockcheck.drawing.plan import plan
from blockcheck.drawing.shapes import BODY, NAME, SMALL, TITLE, Box, Canvas, Line, Text, short, text_width
from blockcheck.drawing.track import draw_panel, panel_height, panel_width
from blockcheck.model.layout import Isolator
from blockcheck.model.operate import Operation, open_position
from blockcheck.model.wiring import usual_position
from blockcheck.rules._located import located

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
class Picture:
    """A layout drawn, in millimetres from the upper left corner; text is set on its baseline."""

    title: str
    description: str
    opened: tuple[str, ...]
    width_mm: float
    height_mm: float
    boxes: tuple[Box, ...]
    lines: tuple[Line, ...]
    labels: tuple[Text, ...]


@frozen(eq=False, slots=False)
class Drawer:
    study: Study
    scenario: str | None
    asked: str | None
    today: date
    canvas: Canvas = field(factory=Canvas, init=False)

    @cached_property
    def track(self) -> Track:
        return track(self.study.wiring)

    @cached_property
    def operation(self) -> Operation:
        return self.study.asked(self.scenario, self.asked)

    @property
    def opened(self) -> tuple[str, ...]:
        return self.operation.opened

    @cached_property
    def positions(self) -> Mapping[str, str]:
        """Control -> position, for those that were moved."""
        return self.operation.positions

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
        switches = [self.switch(isolator, pole) for isolator, pole in fed.poles]
        if fed.board is not None:
            for isolator, pole in wiring.bank_isolators.get((fed.board.name, fed.bank), ()):
                if isolator not in fed.isolators:
                    switches.append(self.switch(isolator, pole))
        power = now.power(name) if name in self.study.circuit.detected else None
        word = "feed not known" if fed.block.unpowered is None else "without power"
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

    def picture(self) -> Picture:
        """Everything, put together on sheets."""
        layout = self.study.layout
        panels = self._panels()
        body = Canvas()
        flow = Flow(body)
        head = self._head()
        flow.put(head, head.bottom + 2.5)
        for panel in panels:
            drawn = draw_panel(panel, self.entries, self.marked_joints, WIDTH_MM)
            flow.put(drawn, drawn.bottom + 2.8)
        self._listing(flow)
        self._feeds(flow)
        self._legend(flow, panels)
        wide = body.right > WIDTH_MM + 0.05
        width = max(WIDTH_MM, up(body.right)) + 2 * EDGE_MM
        foot = 3.0 + EDGE_MM  # for the line that tells the size
        height = up(on_page(flow.y, foot) + foot)
        sheets = int(-(-height // PAGE_MM))
        size = f"{width:g} × {height:g} mm"
        fits = "one sheet of A4" if sheets == 1 else f"{sheets} sheets of A4"
        if wide:
            fits = "wider than A4: print it scaled to the page, or on wider paper"
        body.label("size", f"Size {size}: {fits}.", (0, height - 2 * EDGE_MM), SMALL)
        page = Canvas()
        page.put(body, EDGE_MM, 0)
        title = f"{plain(layout.about.name, 200)}: schematic of track and feeds"
        return Picture(
            title,
            self._description(),
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

    def _listing(self, flow: Flow) -> None:
        """The findings, by number."""
        document = self.study.wiring.document
        shown = self.findings[:MOST_FINDINGS]
        if not shown:
            return
        flow.put(heading("Findings"), 7.0)
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

    def _feeds(self, flow: Flow) -> None:
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
        flow.put(heading("Feeds: booster to block"), 7.0, keep=max(heights[:across]))
        flow.columns([card.draw(width) for card in made], heights, across, width + space)

    def _legend(self, flow: Flow, panels: Iterable[Panel]) -> None:
        canvas = Canvas()
        canvas.label("heading", "Signs", (0, 3.4), NAME, bold=True)
        x, y = 0.0, 8.6
        for width, draw, text in signs(
            list(panels), list(self.entries.values()), self.findings, bool(self.marked_joints)
        ):
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

"""The layout as a picture: track, joints and feeds, from the description alone; findings where they are.

All geometry is decided here, in millimetres; the renderer only writes it down.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cached_property
from pathlib import PurePath

from attrs import frozen

from blockcheck.core.natural import natural_key
from blockcheck.core.shown import plain
from blockcheck.core.spans import Place
from blockcheck.drawing.described import described
from blockcheck.drawing.entries import Piece, draw_line
from blockcheck.drawing.feeds import cards
from blockcheck.drawing.figures.figure import End
from blockcheck.drawing.figures.sheet import Sheet
from blockcheck.drawing.flow import EDGE_MM, Flow, heading, up, wrap
from blockcheck.drawing.layers import SHOWN, Bar, bars, drops
from blockcheck.drawing.legend import Shown, signs
from blockcheck.drawing.listed import sentence
from blockcheck.drawing.names import compact
from blockcheck.drawing.painter import Facts, Painter
from blockcheck.drawing.shapes import BODY, NAME, SMALL, TITLE, Box, Canvas, Line, Text, short, text_width
from blockcheck.drawing.signposts import boards, groups
from blockcheck.drawing.standing import MOST_FINDINGS, Standing
from blockcheck.drawing.track import Track, track
from blockcheck.drawing.words import Words, words
from blockcheck.rules._located import located

MOST_CARD_ROWS = 32
"""Rows of a card of the feeds; a longer one goes on in another."""
MOST_TOLD = 40
"""Names and turnouts that are told in words below the track; the rest is counted."""
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
    sheet: Sheet
    width_mm: float
    height_mm: float
    boxes: tuple[Box, ...]
    lines: tuple[Line, ...]
    labels: tuple[Text, ...]


@frozen(eq=False, slots=False)
class Drawer:
    standing: Standing
    show: tuple[str, ...] = SHOWN
    """The layers that are shown."""

    @cached_property
    def words(self) -> Mapping[str, Words]:
        """Block -> what is written at it."""
        holding = {str(one.block) for one in self.standing.study.layout.turnouts.values()}
        return {name: words(entry, one_line=name in holding) for name, entry in self.standing.entries.items()}

    @cached_property
    def track(self) -> Track:
        return track(self.standing.study.layout, lambda name: self.words[name].room)

    @cached_property
    def districts(self) -> Mapping[str, str]:
        """Block -> its district, where there are several."""
        fed = self.standing.study.wiring.fed if "districts" in self.show else {}
        found = {name: str(one.district) for name, one in fed.items() if one.district}
        return found if len({*found.values()}) > 1 else {}

    @property
    def named(self) -> tuple[str, ...]:
        """The districts that are shown, in the order of the layout."""
        shown = {*self.districts.values()}
        return tuple(name for name in self.standing.study.layout.districts if name in shown)

    @cached_property
    def bars(self) -> tuple[Mapping[str, tuple[Bar, ...]], tuple[str, ...]]:
        """The trains on each block, and those of which a length is not known."""
        return bars(self.standing) if "trains" in self.show else ({}, ())

    @cached_property
    def drops(self) -> Mapping[str, tuple[float, ...]]:
        return drops(self.standing, self.standing.entries) if "drops" in self.show else {}

    def _facts(self) -> Facts:
        standing, named = self.standing, self.named
        layout = standing.study.layout
        turnouts = layout.turnouts
        return Facts(
            self.track.maker.ports,
            self.words,
            lambda name: standing.entries[name].power,
            lambda name: standing.now.state.get(name, turnouts[name].usually),
            standing.marked_joints,
            {name: named.index(district) for name, district in self.districts.items() if district in named},
            self.bars[0],
            self.drops,
            (*groups(layout), *(boards(layout) if "boards" in self.show else ())),
        )

    def picture(self, alone: bool = False) -> Picture:
        """Everything, put together on sheets; or the track ``alone``."""
        sheet = self.track.laid.sheet
        body = Canvas()
        flow = Flow(body, sheet)
        if alone:
            self._track(flow)
        else:
            head = self._head(sheet)
            flow.put(head, head.bottom + 2.5)
            painter = self._track(flow)
            self._notes(flow, painter)
            self._listing(flow)
            self._feeds(flow)
            self._legend(flow, painter)
        width = max(sheet.width_mm, up(body.right)) + 2 * EDGE_MM
        foot = 1.0 if alone else 4.0  # for the line that tells the size
        height = up(flow.on_page(flow.y, foot) + foot)
        sheets = int(-(-height // sheet.page_mm))
        fits = "one sheet" if sheets == 1 else f"{sheets} sheets"
        by, unit = (25.4, "in") if self.standing.study.layout.about.units == "imperial" else (1.0, "mm")
        text = f"Size {width / by:.4g} × {height / by:.4g} {unit}: {fits} of {sheet.name}."
        if not alone:
            body.label("size", text, (0, height - 2.0), SMALL)
        page = Canvas()
        page.put(body, EDGE_MM, 0)
        shapes = tuple(page.boxes), tuple(page.lines), tuple(page.labels)
        title = f"{plain(self.standing.study.layout.about.name, 200)}: schematic of track and feeds"
        return Picture(title, self._description(), self.standing.opened, sheet, width, height, *shapes)

    def _description(self) -> str:
        blocks, findings = len(self.standing.study.layout.blocks), len(self.standing.findings)
        counts = f"{blocks} block{'' if blocks == 1 else 's'}, {findings} finding{'' if findings == 1 else 's'}"
        told = described(self.track.reduced)
        return f"{self.standing.sentence()} {counts}. {told}".rstrip()

    def _head(self, sheet: Sheet) -> Canvas:
        canvas = Canvas()
        y = 0.0
        for line in wrap(plain(self.standing.study.layout.about.name, 200), TITLE, sheet.width_mm, bold=True):
            canvas.label("title", line, (0, y + TITLE), TITLE, bold=True)
            y += TITLE + 1.0
        for line in wrap(f"Schematic of track and feeds. {self.standing.sentence()}", NAME, sheet.width_mm):
            canvas.label("state", line, (0, y + 3.4), NAME)
            y += 4.2
        return canvas

    def _track(self, flow: Flow) -> Painter:
        laid = self.track.laid
        painter = Painter(self._facts(), laid.scale, flow.width)
        for row in laid.rows:
            drawn, placed = painter.row(row.figures), Canvas()
            placed.put(drawn, 0, -drawn.top)
            flow.put(placed, placed.bottom + 3.0)
        return painter

    def _notes(self, flow: Flow, painter: Painter) -> None:
        """What could not be drawn, in words."""
        if self.track.listed:
            text = "Drawn block by block, since their track finds no place on a sheet"
            flow.text("told", f"{text}: {compact(self.track.listed, 200)}.", BODY)
        told = [*self.track.notes, *(sentence(self.track.maker, name) for name in self.track.left_out)]
        guessed = dict.fromkeys(self.track.maker.ports.guessed.values())
        if guessed:
            told.append(
                f"Turnouts at {compact(guessed, 200)} are guessed, in the order of the joints: none is described"
            )
        for text in told[:MOST_TOLD]:
            flow.text("told", f"{plain(text, 600)}.", BODY)
        if len(told) > MOST_TOLD:
            flow.text("told", f"And {len(told) - MOST_TOLD} more that could not be drawn.", BODY)
        barred = ((block, bar) for block, some in self.bars[0].items() for bar in some)
        branching = [f"{bar.train} in {block}" for block, bar in barred if block not in painter.barred]
        for why, trains in (("stand where track branches much", branching), ("lack a length", self.bars[1])):
            if trains:
                flow.text("told", f"Trains that are not shown, since they {why}: {compact(trains, 200)}.", BODY)
        unplaced = [*painter.unplaced, *(one.text for one in painter.facts.signposts if one not in painter.posted)]
        if unplaced:
            names = "; ".join(plain(name, 100) for name in unplaced[:MOST_TOLD])
            left = len(unplaced) - MOST_TOLD
            more = f"; and {left} more" if left > 0 else ""
            flow.text("told", f"Without room for their words: {names}{more}.", SMALL)

    def _listing(self, flow: Flow) -> None:
        """The findings, by number."""
        document = self.standing.study.wiring.document
        shown = self.standing.findings[:MOST_FINDINGS]
        if not shown:
            return
        flow.put(heading("Findings", flow.width), 7.0)
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
            lines = wrap(f"{names}: {plain(finding.message, 600)}{at}", BODY, flow.width - 66)
            for index, line in enumerate(lines):
                canvas.label("finding", line, (max(x, 66), 3.0 + 3.6 * index), BODY)
            flow.put(canvas, 3.6 * len(lines) + 1.0)
        left = len(self.standing.findings) - len(shown)
        if left:
            canvas = Canvas()
            canvas.label("finding", f"and {left} more: blockcheck check tells them all", (0, 3.0), BODY)
            flow.put(canvas, 4.6)
        flow.skip(2.0)

    def _feeds(self, flow: Flow) -> None:
        """The cards, in as many columns as their rows leave room for."""
        if not self.standing.entries:
            return
        share = -(-len(self.standing.entries) // 3) + 2  # so that three columns come out about even
        made = cards(
            self.standing.study.wiring,
            self.standing.entries,
            self.standing.switch,
            self.standing.marks,
            min(MOST_CARD_ROWS, max(8, share)),
        )
        space = 4.0
        least = max(card.least for card in made)
        across = max(1, min(4, len(made), int((flow.width + space) // (least + space))))
        width = max(least, (flow.width - space * (across - 1)) / across)
        if sum(card.height(width) for card in made) < 2 * flow.sheet.page_mm:
            made.sort(key=lambda card: -card.height(width))  # the longest first, so that the columns end about even
        heights = [card.height(width) for card in made]
        flow.put(heading("Feeds: booster to block", flow.width), 7.0, keep=max(heights[:across]))
        flow.columns([card.draw(width) for card in made], heights, across, width + space)

    def _legend(self, flow: Flow, painter: Painter) -> None:
        canvas = Canvas()
        canvas.label("heading", "Signs", (0, 3.4), NAME, bold=True)
        x, y = 0.0, 8.6
        track, entries = self.track, [*self.standing.entries.values()]
        shown = Shown(
            bool(self.standing.study.layout.turnouts),
            bool(track.maker.ports.guessed),
            bool(self.standing.marked_joints),
            any(
                isinstance(end, End) and end.letter
                for row in track.laid.rows
                for one in row.figures
                for end in one.parts
            ),
            tuple(short(name) for name in self.named),
            bool(painter.barred),
            any(self.drops.values()),
        )
        for width, draw, text in signs(painter.gaps, entries, self.standing.findings, shown):
            width += 1.4 if width else 0.0
            whole = width + text_width(text, SMALL)
            if x and x + whole > flow.width:
                x, y = 0.0, y + 4.9
            draw(canvas, x, y - 0.9)
            canvas.label("sign", text, (x + width, y), SMALL)
            x += whole + 4.5
        lines = wrap(CAUTION, SMALL, flow.width)
        y += 5.6
        for index, line in enumerate(lines):
            canvas.label("caution", line, (0, y + 3.2 * index), SMALL)
        y += 3.2 * len(lines)
        for line in self._long_names(flow.width):
            canvas.label("names", line, (0, y), SMALL)
            y += 3.2
        flow.put(canvas, y)

    def _long_names(self, width: float) -> Iterator[str]:
        """The names that are not shown whole, whole."""
        layout = self.standing.study.layout
        tables = (layout.blocks, layout.isolators, layout.boards, layout.districts, layout.boosters, layout.turnouts)
        for name in sorted({name for table in tables for name in table}, key=natural_key):
            if short(name) != plain(name, 1000):
                yield from wrap(f"{short(name)} is {plain(name, 1000)}", SMALL, width)

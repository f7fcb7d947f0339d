"""What stands on the screens of the page in hand whatever is chosen, as markup; the script hears it and fills it in."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence

from blockcheck.answers.checking.report import FindingRow
from blockcheck.answers.page.page import PageAnswer
from blockcheck.answers.page.rows import PageBlock, PageState
from blockcheck.core.words import cut_short
from blockcheck.formats.elements import Attribute, Child, Html, element

SIGNS = {"error": "\u00d7 error", "warning": "! warning", "note": "i note"}
SIDES = {"comes": "from the booster", "returns": "the way back"}
ORDERS = {"sheet": "in sheet order", "splits": "only what splits"}
SHOWS = ("all", "with a train", "asleep", "not meant")


def yard_rows(answer: PageAnswer) -> Html:
    """Chips of the states and of what is shown, and a row for every track, group by group."""
    states = {str(number): _state(one) for number, one in enumerate(answer.states)}
    groups = dict[str | None, list[PageBlock]]()
    for block in answer.blocks:
        groups.setdefault(block.group, []).append(block)
    return element(
        "div",
        _chips("how it stands", "state", states),
        _chips("which tracks", "show", {one: one for one in _shows(answer)}),
        *(
            one
            for group, blocks in groups.items()
            for one in (
                None if group is None else element("h3", group, class_="group"),
                element("ul", *map(_track, blocks), class_="tracks"),
            )
        ),
        element("p", "No track is so now.", class_="none"),
        class_="rows",
    )


def _state(one: PageState) -> str:
    return "as usual" if one.scenario is None else f"scenario {one.scenario}"


def _shows(answer: PageAnswer) -> Iterator[str]:
    yield from SHOWS
    yield from (f"board {one}" for one in answer.boards)
    yield from (f"district {one.district}" for one in answer.districts)


def _track(block: PageBlock) -> Html:
    named = block.track is None
    number = (None if named else str(block.track), element("small", None if named else block.block))
    over = (
        element("b", block.block, class_="name") if named else None,
        element("span", class_="trains"),
        element("span", "length not given", class_="unknown") if block.length_m is None else None,
    )
    rails = element("span", class_="rails gap" if block.opens else "rails")
    ends = (
        None if block.channel is None else element("b", block.channel, class_="channel"),
        " ",
        element("span", " ".join(block.opens)),
    )
    control = element(
        "button",
        element("span", *number, class_="number"),
        element("span", element("span", *over, class_="over"), rails, class_="line"),
        element("span", element("span", *ends, class_="ends"), element("span", class_="word"), class_="what"),
        type="button",
        class_="track",
        data_name=block.block,
    )
    return element("li", control, data_row=block.block)


def way(answer: PageAnswer) -> Sequence[Html]:
    """To which block, or what a label says; which side; the places, and what is beyond them."""
    if not answer.ways:
        return [element("p", "No block has a feed of its own whose way is known.")]
    tracks = {one.block: one.track for one in answer.blocks}
    names = [one.block for one in answer.ways]
    shown = [one if str(tracks[one] or one) == one else f"{tracks[one]} \u00b7 {one}" for one in names]
    blocks = [element("option", words, value=name) for name, words in zip(names, shown, strict=True)]
    field = element("input", id="label", type="text", autocomplete="off", autocapitalize="off", spellcheck="false")
    asks = (
        element("label", "The current to", element("select", *blocks, id="to"), for_="to"),
        element(
            "label",
            "or what a label says",
            element("span", field, element("button", "go", type="submit"), class_="both"),
            for_="label",
        ),
    )
    return [
        element("form", *asks, class_="asks"),
        _chips("which side", "side", SIDES),
        element("p", class_="probes"),
        element("p", class_="verdict", role="status", tabindex="-1"),
        element("ol", class_="hops"),
        element("h3", "Beyond the first drop", class_="beyond-head"),
        element("ol", class_="hops beyond"),
        _buttons(_button("begin again", class_="again")),
    ]


def tests(answer: PageAnswer) -> Sequence[Html]:
    """Where the step, what explains it and the whole sheet come; what goes out and in."""
    if answer.tests is None or not answer.tests.steps:
        return [element("p", answer.untested or "There is nothing to test.")]
    left_out = answer.tests.left_out
    kept = (
        "Kept in this browser, and in a file: blockcheck trace reads that, and fits sizes and the material of rails "
        "and wires, which a table cannot."
    )
    if left_out:
        kept += f" Three plugs that have changed places are not in the table ({left_out} ways): trace knows them."
    file = element("input", type="file", accept=".toml,text/plain", class_="unseen")
    return [
        element("p", class_="noted"),
        element("p", class_="progress", id="progress"),
        element("progress", max=len(answer.tests.steps), value=0, aria_labelledby="progress"),
        _chips("which steps", "order", ORDERS),
        element("div", class_="causes", role="status"),
        element("div", class_="step"),
        element("h3", "Readings"),
        element("p", kept, class_="small"),
        _buttons(
            _button("save readings.toml", class_="save"),
            element("label", "read a file", file, class_="file"),
            _button("start again", class_="forget"),
        ),
        element("details", element("summary", "All steps"), element("ol", class_="sheet")),
    ]


def findings(answer: PageAnswer) -> Sequence[Html]:
    """What check finds, a card each; what it could not check; what the layout accepts."""
    blocks, ways = {one.block for one in answer.blocks}, {one.block for one in answer.ways}
    lacks = [(one.subject, f"{one.rule} needs {', '.join(one.needs)}") for one in answer.unchecked]
    accepted = [(one.subject, f"{one.rule}, because {one.because}") for one in answer.accepted]
    return [
        element("p", answer.verdict, class_="lead"),
        element("ol", *(_card(*one, blocks, ways) for one in enumerate(answer.findings)), class_="cards"),
        *_listed("Not checked, for want of data", lacks),
        *_listed("Accepted in the layout", accepted),
        element("p", answer.caution, class_="caution"),
    ]


def _listed(words: str, rows: Sequence[tuple[str, str]]) -> Sequence[Html]:
    if not rows:
        return []
    items = [element("li", element("b", f"{subject}: "), told) for subject, told in rows]
    return [element("h3", f"{words}: {len(rows)}"), element("ul", *items, class_="small")]


def _card(number: int, one: FindingRow, blocks: set[str], ways: set[str]) -> Html:
    facts = {
        "current": None if one.path is None else " > ".join(one.path),
        "with": cut_short([f"{name} {at}" for name, at in (one.state or {}).items()], 12) or None,
        "mend": one.help,
        "at": f"{one.file}, line {one.line}",
    }
    names = [name for name in dict.fromkeys((one.subject, *one.with_, *(one.path or ()))) if name in blocks]
    about: Mapping[str, Attribute] = {"data_finding": str(number), "data_blocks": json.dumps(names)}
    follows = next((name for name in names if name in ways), None)
    return element(
        "li",
        element("p", SIGNS[one.severity], " ", element("code", one.rule), class_="severity"),
        element("p", one.message, class_="message"),
        element(
            "dl", *(part for row in facts.items() if row[1] is not None for part in map(element, ("dt", "dd"), row))
        ),
        _buttons(
            _button("Show on Yard", **about) if names else None,
            None if follows is None else _button("Follow the current", data_follows=follows, **about),
        ),
        class_=f"card {one.severity}",
    )


def _chips(words: str, kind: str, names: Mapping[str, str]) -> Html:
    chips = (_button(shown, class_="chip", **{f"data_{kind}": name}) for name, shown in names.items())
    return element("div", *chips, class_="chips", role="group", aria_label=words)


def _buttons(*some: Child) -> Html:
    return element("div", *some, class_="buttons")


def _button(words: str, **attributes: Attribute) -> Html:
    return element("button", words, type="button", **attributes)

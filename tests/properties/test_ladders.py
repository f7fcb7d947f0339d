"""Yards as they can be laid: two throats, tracks between them, each block written from either end. What is said of them
agrees; a joint that is left out is found, and comes back as it was; a link that is said otherwise is found.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from datetime import date
from typing import Any

from attrs import frozen
from hypothesis import given
from hypothesis import strategies as st

import blockcheck
from blockcheck.core.findings import Edit
from blockcheck.rules import joint_missing, run, turnouts_disagree
from blockcheck.rules._located import located
from blockcheck.types import Finding
from tests.edited import edited

TODAY = date(2031, 6, 1)
RULES = (turnouts_disagree.RULE, joint_missing.RULE)
OTHER = {"near": "far", "far": "near"}
Joint = frozenset[tuple[str, str]]
"""Two blocks, each with the end of it that is met."""


@frozen
class Yard:
    """``turnouts`` maps each to its keys."""

    blocks: tuple[str, ...]
    turnouts: dict[str, dict[str, str]]
    joints: tuple[Joint, ...]

    def text(self, without: frozenset[Joint] = frozenset()) -> str:
        lines = [
            "format = 1",
            'layout = { name = "Sedge", control = "dcc" }',
            'boosters.B1 = { voltage = "14 V", current = "3 A" }',
            'districts.yard = { booster = "B1" }',
            'board_types.plain = { channels = 40, threshold = "1.5 mA" }',
            'boards.D1 = { type = "plain" }',
        ]
        for number, name in enumerate(self.blocks, 1):
            lines += [f"[blocks.{name}]", f'channel = "D1.{number}"']
        for name, keys in self.turnouts.items():
            lines += [f"[turnouts.{name}]", *(f'{key} = "{value}"' for key, value in keys.items())]
        for joint in self.joints:
            if joint not in without:
                (one, end), (other, its) = sorted(joint)
                lines += ["[[joints]]", f'blocks = ["{one}", "{other}"]', f'ends = ["{end}", "{its}"]', 'gap = "both"']
        return "\n".join(lines) + "\n"


@st.composite
def yards(draw: Callable[[st.SearchStrategy[Any]], Any]) -> Yard:
    """Line, throat, tracks, throat, line. A ladder takes its tracks in any order; its toes may be said or left out."""
    count = draw(st.integers(3, 6))
    tracks = [f"S{number}" for number in range(1, count + 1)]
    blocks = ["up", "west", *tracks, "east", "down"]
    turned = {name: draw(st.booleans()) for name in blocks}

    def end(name: str, side: str) -> str:
        return OTHER[side] if turned[name] else side

    turnouts: dict[str, dict[str, str]] = {}
    for throat, line, letter in (("west", "up", "W"), ("east", "down", "E")):
        order = draw(st.permutations(tracks))
        names = [f"{letter}{number}" for number in range(1, count)]
        for index, name in enumerate(names):
            keys = {"block": throat, "diverging": order[index]}
            keys["through"] = names[index + 1] if index < count - 2 else order[-1]
            if index == 0:
                keys["toe"] = line
            elif draw(st.booleans()):
                keys["toe"] = names[index - 1]
            turnouts[name] = keys
    pairs = [(("up", "far"), ("west", "near")), (("east", "far"), ("down", "near"))]
    for track in tracks:
        pairs += [(("west", "far"), (track, "near")), ((track, "far"), ("east", "near"))]
    joints = tuple(frozenset((name, end(name, side)) for name, side in pair) for pair in pairs)
    return Yard(tuple(draw(st.permutations(blocks))), turnouts, joints)


def told(text: str) -> list[Finding]:
    case = blockcheck.loads(text, "sedge.toml")
    return [located(one, case.wiring.document) for one in run(case, TODAY, RULES).findings]


def mended(text: str, findings: list[Finding]) -> str:
    edits = [edit for one in findings for edit in one.edits if isinstance(edit, Edit)]
    return edited({"sedge.toml": text}, edits)["sedge.toml"]


def joints_of(text: str) -> Counter[Joint]:
    layout = blockcheck.loads(text, "sedge.toml").layout
    return Counter(frozenset(zip(map(str, one.blocks), one.ends, strict=True)) for one in layout.joints)


@given(yards())
def test_what_can_be_laid_agrees(yard: Yard) -> None:
    assert told(yard.text()) == []


@given(st.data())
def test_joints_that_are_left_out_come_back_as_they_were(data: st.DataObject) -> None:
    """All of them, as long as each track and each throat still has a joint that tells which of its ends is which."""
    yard = data.draw(yards())
    kept = {name: [joint for joint in yard.joints if name in dict(joint)] for name in yard.blocks}
    without: set[Joint] = set()
    for joint in data.draw(st.permutations(yard.joints)):
        left = {name: [one for one in kept[name] if one not in without | {joint}] for name in dict(joint)}
        if all(left[name] for name in left) and data.draw(st.booleans()):
            without.add(joint)
    text = yard.text(frozenset(without))
    findings = told(text)
    assert {one.rule for one in findings} == ({"joint-missing"} if without else set())
    whole = mended(text, findings)
    assert joints_of(whole) == Counter(yard.joints)
    assert told(whole) == []


@given(st.data())
def test_joints_that_are_left_out_are_all_found(data: st.DataObject) -> None:
    """However many: what is then written agrees with what turnouts say, and joins the same blocks."""
    yard = data.draw(yards())
    without = frozenset(data.draw(st.sets(st.sampled_from(yard.joints), min_size=1)))
    text = yard.text(without)
    whole = mended(text, told(text))
    pairs = [frozenset(name for name, _ in joint) for joint in joints_of(whole).elements()]
    assert Counter(pairs) == Counter(frozenset(dict(joint)) for joint in yard.joints)
    assert told(whole) == []


@given(st.data())
def test_a_toe_that_is_said_otherwise_is_found(data: st.DataObject) -> None:
    yard = data.draw(yards())
    inner = [name for name in yard.turnouts if not name.endswith("1")]
    name = data.draw(st.sampled_from(inner))
    wrong = data.draw(st.sampled_from([one for one in yard.turnouts if one != name]))
    before = f"{name[0]}{int(name[1:]) - 1}"
    turnouts = {**yard.turnouts, name: {**yard.turnouts[name], "toe": wrong}}
    text = Yard(yard.blocks, turnouts, yard.joints).text()
    findings = told(text)
    if wrong == before:
        assert findings == []
        return
    assert [one.rule for one in findings] == ["turnouts-disagree"]
    assert name in (findings[0].subject, *findings[0].others)
    if findings[0].edits:
        assert told(mended(text, findings)) == []


@given(st.data())
def test_a_leg_that_leads_to_a_neighbour_is_found(data: st.DataObject) -> None:
    """Two legs of one throat at one track, and none at another."""
    yard = data.draw(yards())
    name = data.draw(st.sampled_from(sorted(yard.turnouts)))
    right = yard.turnouts[name]["diverging"]
    wrong = data.draw(st.sampled_from([one for one in yard.blocks if one[0] == "S" and one != right]))
    turnouts = {**yard.turnouts, name: {**yard.turnouts[name], "diverging": wrong}}
    findings = told(Yard(yard.blocks, turnouts, yard.joints).text())
    assert [(one.rule, one.subject) for one in findings] == [("turnouts-disagree", wrong)]


@given(st.data())
def test_a_joint_the_wrong_way_round_is_found(data: st.DataObject) -> None:
    """One of a throat's legs, at the end where its toe is."""
    yard = data.draw(yards())
    joint = data.draw(st.sampled_from([one for one in yard.joints if any(name[0] == "S" for name in dict(one))]))
    turned = frozenset((name, end if name[0] == "S" else OTHER[end]) for name, end in joint)
    text = Yard(yard.blocks, yard.turnouts, tuple(turned if one == joint else one for one in yard.joints)).text()
    findings = told(text)
    assert [(one.rule, one.subject, *one.others) for one in findings] == [
        ("turnouts-disagree", *sorted(dict(joint))[::-1])
    ]
    assert joints_of(mended(text, findings)) == Counter(yard.joints)

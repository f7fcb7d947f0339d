"""A switched frog is cut from the rails beyond it, so that no position of the points shorts them.

Why: a frog takes the polarity of one rail or the other with the points; where it runs on into a fed rail, one of the
two positions is a dead short.

Mend: cut both frog rails beyond the frog and write frog_gaps = true.
"""

from __future__ import annotations

from collections.abc import Iterator

from blockcheck.analysis.case import Case, hops
from blockcheck.circuit.compile import rail_beyond
from blockcheck.circuit.reach import Question, Route, Undecided, Witness
from blockcheck.core.findings import Finding, Label, Severity, Unchecked
from blockcheck.core.natural import natural_key
from blockcheck.rules._rule import Rule


def check(case: Case) -> Iterator[Finding | Unchecked]:
    """A finding for each switched frog that some position of the points shorts."""
    layout, circuit = case.layout, case.circuit
    for name in sorted(circuit.frogs, key=natural_key):
        turnout = layout.turnouts[name]
        if turnout.frog_gaps is None:
            yield Unchecked("frog-short", name, (f"turnouts.{name}.frog_gaps",))
        if turnout.frog_gaps is not False:
            continue
        for leg, rail in (("through", turnout.frog_rail), ("diverging", "other")):
            if rail_beyond(case.wiring, turnout, leg, rail) is None and _joint_unknown(case, name, leg):
                yield Unchecked("frog-short", name, (f"joints for the {leg} leg of {name}",))
        others = {number for number, edge in enumerate(circuit.edges) if edge.kind == "frog" and edge.part != name}

        commons = frozenset(circuit.common.values()) | frozenset(circuit.back.values())
        rails = Route(frozenset({circuit.detected[turnout.block]}), commons)
        answer = Question(circuit, [rails], without=others.__contains__, mended=case.mended).answer()
        path = ("turnouts", name, "frog_gaps")
        if isinstance(answer, Undecided):
            yield Unchecked("frog-short", name, ("a decision within bounds",))
        elif isinstance(answer, Witness):
            points = answer.state[name]
            leg = "diverging" if points == "through" else "through"  # the leg that is set carries the rail it should
            yield Finding(
                f"with its points at {points}, the frog of {name} joins the two rails on its {leg} leg",
                subject=name,
                at=path,
                related=(Label(("turnouts", name, "block"), f"it lies in {turnout.block}"),),
                state=answer.state,
                way=hops(circuit, answer, 0),
                help="cut both frog rails beyond the frog, and write frog_gaps = true",
                causes=frozenset({path}),
            )


def _joint_unknown(case: Case, name: str, leg: str) -> bool:
    """Whether the leg leads to another block and no joint says how."""
    layout = case.layout
    turnout, target = layout.turnouts[name], getattr(layout.turnouts[name], leg)
    target = layout.turnouts[target].block if target in layout.turnouts else target
    return target in layout.blocks and frozenset((turnout.block, target)) not in case.wiring.joints_of


RULE = Rule(
    __doc__ or "",
    "frog-short",
    "joining",
    Severity.ERROR,
    check,
    needs=("turnouts.frog_gaps", "joints at the turnout's legs"),
)

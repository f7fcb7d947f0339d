"""A switched frog is cut from the rails beyond it, so that no position of the points shorts them.

Why: a frog takes the polarity of one rail or the other with the points; where it runs on into a fed rail, one of the
two positions is a dead short.

Mend: cut both frog rails beyond the frog and write frog_gaps = true.
"""

from __future__ import annotations

from blockcheck.analysis.study import Study, hops
from blockcheck.circuit.compile import rail_beyond
from blockcheck.circuit.parts import Kind
from blockcheck.circuit.reach import Question, Route, Undecided, Witness
from blockcheck.core.findings import UNDECIDED, Finding, Label, Rewrite, Severity
from blockcheck.core.natural import natural_key
from blockcheck.model.datum import datum
from blockcheck.rules._rule import Judged, Lacks, Rule, Said


def check(study: Study) -> Said:
    """A finding for each switched frog that some position of the points shorts."""
    layout, circuit = study.layout, study.circuit
    for name in sorted(circuit.frogs, key=natural_key):
        yield Judged(name)
        turnout = layout.turnouts[name]
        if turnout.frog_gaps is None:
            yield Lacks(name, (datum("turnouts", name, "frog_gaps"),))
        if turnout.frog_gaps is not False:
            continue
        other = "common" if turnout.frog_rail == "detected" else "detected"
        for leg, rail in (("through", turnout.frog_rail), ("diverging", other)):
            if rail_beyond(study.wiring, turnout, leg, rail) is None and (
                need := _joint_unknown(study, name, leg, rail)
            ):
                yield Lacks(name, (need,))
        others = {number for number, edge in enumerate(circuit.edges) if edge.kind is Kind.FROG and edge.part != name}

        own = (node for name, node in circuit.common.items() if name not in circuit.through)  # it has no return else
        commons = frozenset(own) | frozenset(circuit.back.values())
        rails = Route(frozenset({circuit.detected[turnout.block]}), commons)
        answer = Question(circuit, [rails], without=others.__contains__, mended=study.mended).answer()
        path = ("turnouts", name, "frog_gaps")
        if isinstance(answer, Undecided):
            yield Lacks(name, UNDECIDED)
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
                edits=(Rewrite(path, "true"),),
                causes=frozenset({path}),
            )


def _joint_unknown(study: Study, name: str, leg: str, rail: str) -> str | None:
    """What is missing where the leg leads to another block and no joint says how, or several say different things."""
    layout = study.layout
    turnout, target = layout.turnouts[name], getattr(layout.turnouts[name], leg)
    target = layout.turnouts[target].block if target in layout.turnouts else target
    if target not in layout.blocks:
        return None
    numbers = study.wiring.joints_of.get(frozenset((turnout.block, target)), ())
    if not numbers:
        return f"joints for the {leg} leg of {name}"
    differ = len({layout.joints[number].gap in ("both", rail) for number in numbers}) > 1
    return f"which joint of {turnout.block} and {target} lies at the {leg} leg of {name}" if differ else None


RULE = Rule(
    __doc__,
    __name__,
    "joining",
    Severity.ERROR,
    check,
    needs=("turnouts.frog_gaps", "joints at the turnout's legs"),
)

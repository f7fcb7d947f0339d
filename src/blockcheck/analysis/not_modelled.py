"""What blockcheck does not model although the layout shows that it is there."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from attrs import frozen

from blockcheck.analysis.study import Study
from blockcheck.core.columns import column
from blockcheck.core.natural import natural_key
from blockcheck.model.operate import vehicles

POLARITY = "polarity between boosters"
POINTS = "points that feed a leg"
CHARGING = "volts while decoders charge"
RESISTORS = "charge resistors"
RINGING = "ringing of the signal"


@frozen
class NotModelled:
    """Something of this layout that no rule judges, and whose it is."""

    what: str = column("What is not modelled.")
    of: tuple[str, ...] = column("The names by which the layout shows it; none where it is the whole layout.")


def not_modelled(study: Study) -> tuple[NotModelled, ...]:
    """What can be seen in a layout and is not modelled, worst first."""
    return tuple(NotModelled(what, tuple(sorted(set(of), key=natural_key))) for what, of in _seen(study))


def _seen(study: Study) -> Iterator[tuple[str, Iterable[str]]]:
    layout = study.layout
    borders = list(_borders(study))
    if borders:
        yield POLARITY, (name for pair in borders for name in pair)
    if untold := [name for name, turnout in layout.turnouts.items() if turnout.routes is None]:
        yield POINTS, untold
    charged = [one.name for one in vehicles(study.wiring) if one.capacitance_f]
    if charged and layout.about.control == "dcc":
        yield CHARGING, charged
        if bare := [name for name in charged if layout.loads[name].charge_ohm is None]:
            yield RESISTORS, bare
    if layout.about.control == "dcc" and layout.harnesses:
        yield RINGING, ()


def _borders(study: Study) -> Iterator[tuple[str, str]]:
    """The boosters on either side of a joint, where two meet."""
    fed = study.wiring.fed
    homes = study.layout.districts
    for joint in study.layout.joints:
        districts = [str(fed[name].district) for name in joint.blocks if name in fed]
        pair = [homes[one].booster for one in districts if one in homes and homes[one].booster in study.layout.boosters]
        if len(pair) == 2 and pair[0] != pair[1]:
            yield str(pair[0]), str(pair[1])

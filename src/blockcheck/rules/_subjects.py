"""Which subjects a rule looks at, kind by kind: what is not found wanting there can be said to hold.

Each function tells, for the study as the rule saw it, the names that the rule judges: a block that is asleep is not
told of volts, nor a board without addresses of numbers. What lacks data may be among them; the rule lists it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator

from blockcheck.analysis.power.budgets import Budget, Draw
from blockcheck.analysis.reversing import sections
from blockcheck.analysis.study import Study
from blockcheck.analysis.turnouts import Ladders
from blockcheck.core.natural import natural_key
from blockcheck.model.layout import SUBJECTS
from blockcheck.model.operate import open_position
from blockcheck.model.uses import uses
from blockcheck.rules._volts import complete, usual


def accepts(study: Study) -> Iterator[str]:
    """What each exception is for."""
    return (accept.where for accept in study.layout.accept)


def described(study: Study, table: str) -> Iterator[str]:
    """The names of a table; those of stock data are on offer, and not told of."""
    layers = study.wiring.document.layers
    for name in getattr(study.layout, table):
        if not all(layer.file.stock for layer in layers[table, name]):
            yield name


def usable(study: Study) -> list[str]:
    """All that something else of the layout is there to refer to."""
    return [name for table in uses(study.wiring) for name in described(study, table)]


def names(study: Study) -> Iterator[str]:
    """All names of the layout, those of groups too."""
    yield from (name for table in SUBJECTS for name in getattr(study.layout, table))
    yield from study.wiring.groups


def blocks(study: Study) -> Iterable[str]:
    """All blocks."""
    return study.wiring.fed


def wired(study: Study) -> Iterator[str]:
    """Blocks that name an isolator which exists."""
    return (name for name, fed in study.wiring.fed.items() if fed.isolator is not None)


def storage(study: Study) -> Iterator[str]:
    """Storage tracks."""
    return (name for name, fed in study.wiring.fed.items() if fed.block.kind == "storage")


def numbered(study: Study) -> Iterator[str]:
    """Blocks with a track number."""
    return (name for name in study.wiring.fed if name in study.wiring.tracks)


def homed(study: Study) -> Iterator[str]:
    """Blocks with a channel that also name a district."""
    return (
        name
        for name, fed in study.wiring.fed.items()
        if fed.channel is not None and fed.block.district is not None and not fed.missing
    )


def detected(study: Study) -> Iterator[str]:
    """Blocks of the circuit with a detector."""
    return (name for name in study.blocks if study.wiring.fed[name].channel is not None)


def meeting(study: Study) -> list[str]:
    """Blocks that meet another."""
    return sorted({name for joint in study.layout.joints for name in joint.blocks}, key=natural_key)


def turning(study: Study) -> list[str]:
    """Blocks in sections whose polarity changes."""
    return [name for section in study.always(sections) for name in section.blocks]


def turned(study: Study) -> list[str]:
    """Districts whose polarity changes."""
    return sorted((name for name, one in study.layout.districts.items() if one.turns), key=natural_key)


def joined(study: Study) -> Iterator[str]:
    """Blocks with a detector that meet another."""
    met = {name for joint in study.layout.joints for name in joint.blocks}
    return (name for name in detected(study) if name in met)


def channels(study: Study) -> Iterator[str]:
    """Channels with a block."""
    return map(str, study.wiring.blocks_of_channel)


def blocks_and_boards(study: Study) -> list[str]:
    """All blocks, and boards of a type that exists."""
    return [*study.wiring.fed, *boards(study)]


def boards(study: Study) -> list[str]:
    """Boards of a type that exists."""
    return sorted(
        (one.name for one in study.layout.boards.values() if one.type in study.layout.board_types), key=natural_key
    )


def rated_types(study: Study) -> Iterator[str]:
    """Types of board whose data say what a channel may carry."""
    return (name for name, one in study.layout.board_types.items() if one.channel_current_a is not None)


def addressed(study: Study) -> Iterator[str]:
    """Channels of boards that report by number."""
    for name in boards(study):
        board = study.layout.boards[name]
        if board.first_address is not None:
            yield from (f"{name}.{number + 1}" for number in range(study.layout.board_types[board.type].channels))


def isolators(study: Study) -> Iterable[str]:
    """All isolators."""
    return study.wiring.switched


def used_isolators(study: Study) -> Iterator[str]:
    """Isolators through which a block is wired."""
    return (name for name, many in study.wiring.switched.items() if many)


def cutting(study: Study) -> Iterator[str]:
    """Isolators that are meant to be opened, for blocks all of which are in the circuit."""
    for name, many in study.wiring.meant.items():
        meant = _opens(study, name) or study.layout.isolators[name].isolates is not None
        if many and meant and study.circuit.detected.keys() >= set(many):
            yield name


def isolated(study: Study) -> Iterator[str]:
    """Blocks of the circuit that an isolator which can be opened is meant for."""
    return (name for name in study.blocks if any(_opens(study, one) for one in study.wiring.isolators_of[name]))


def dropped(study: Study) -> Iterator[str]:
    """Those whose detection is meant to go off with it."""
    return _detection(study, "off")


def held(study: Study) -> Iterator[str]:
    """Those with a detector whose detection is meant to be held."""
    return (name for name in _detection(study, "held") if study.wiring.fed[name].channel is not None)


def _detection(study: Study, meant: str) -> Iterator[str]:
    for name in study.blocks:
        cuts = (one for one in study.wiring.isolators_of[name] if _opens(study, one))
        if any(study.layout.isolators[one].detection == meant for one in cuts):
            yield name


def _opens(study: Study, isolator: str) -> bool:
    return open_position(study.wiring, isolator) is not None


def turnouts(study: Study) -> list[str]:
    """Turnouts, and the blocks that they lie in and lead to."""
    ladders = study.always(Ladders.of)
    blocks = {block for leg in ladders.legs for block in leg.pair}
    return sorted({*ladders.names, *blocks}, key=natural_key)


def frogs(study: Study) -> list[str]:
    """Turnouts with a switched frog."""
    return sorted(study.circuit.frogs, key=natural_key)


def harnesses(study: Study) -> list[str]:
    """Harnesses with a block."""
    return sorted({str(one.block.harness) for one in study.wiring.fed.values() if one.block.harness}, key=natural_key)


def trains(study: Study) -> list[str]:
    """Trains that stand somewhere."""
    return sorted({one.train for operation in study.operations for one in operation.trains}, key=natural_key)


def shared_blocks(study: Study) -> list[str]:
    """Blocks in which several trains stand at once."""
    found: dict[str, None] = {}
    for operation in study.operations:
        blocks = [one.block for one in operation.trains if study.layout.blocks[one.block].kind != "throat"]
        found.update((block, None) for block in blocks if blocks.count(block) > 1)
    return sorted(found, key=natural_key)


def scenarios(study: Study) -> Iterator[str]:
    """Scenarios that say what they expect, of blocks that are all in the circuit."""
    for one in study.operations:
        expected = {block for many in one.expect.values() for block, _ in many}
        if one.scenario is not None and expected and study.circuit.detected.keys() >= expected:
            yield one.scenario


def live(study: Study) -> Iterator[str]:
    """Blocks that are live, or lack data."""
    return _complete(study, stand=False)


def stood_in(study: Study) -> Iterator[str]:
    """Those in which trains stand."""
    return _complete(study, stand=True)


def seen(study: Study) -> Iterator[str]:
    """Those in which trains stand and that have a detector."""
    return (one for one in stood_in(study) if study.wiring.fed[one].channel is not None)


def _complete(study: Study, stand: bool) -> Iterator[str]:
    return (one if isinstance(one, str) else one.subject for one in complete(study, "", stand))


def fed_detected(study: Study) -> Iterator[str]:
    """Blocks with a detector that a district feeds now."""
    return (name for name in usual(study).feeding.supply if study.wiring.fed[name].channel is not None)


def expecting(study: Study) -> list[str]:
    """Districts that expect vehicles anywhere."""
    placed = usual(study).feeding.with_trains
    districts = study.layout.districts.items()
    return sorted((name for name, one in districts if one.expects and name not in placed), key=natural_key)


def limited_districts(study: Study) -> Iterator[str]:
    """Districts with a limit."""
    return _limited(study, Budget.districts)


def limited_boosters(study: Study) -> Iterator[str]:
    """Boosters with a limit."""
    return _limited(study, Budget.boosters)


def limited_channels(study: Study) -> Iterator[str]:
    """Channels whose board has a limit."""
    return _limited(study, Budget.channels)


def limited_contacts(study: Study) -> Iterator[str]:
    """Isolators with a rating."""
    return _limited(study, Budget.contacts)


def within(study: Study) -> list[str]:
    """Districts and boosters that are below their limit in every operation; of others it is known what they spare."""
    over, names = set[str](), dict[str, None]()
    share = 1 - study.layout.limits.headroom
    for operation in study.operations:
        budget = Budget.of(study, operation)
        for draw in (*budget.districts(), *budget.boosters()):
            names[draw.name] = None
            most = draw.limit_a
            if most is None or draw.current_a > most or (draw.needs and draw.current_a <= most * share):
                over.add(draw.name)
    return [name for name in names if name not in over]


def _limited(study: Study, draws: Callable[[Budget], Iterator[Draw]]) -> Iterator[str]:
    names = dict[str, None]()
    for operation in study.operations:
        names.update((draw.name, None) for draw in draws(Budget.of(study, operation)) if draw.limit_a is not None)
    return iter(names)

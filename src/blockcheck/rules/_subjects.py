"""Which subjects a rule looks at, kind by kind: what is not found wanting there can be said to hold.

Each function tells, for the case as the rule saw it, the names that the rule judges: a block that is asleep is not told
of volts, nor a board without addresses of numbers. What lacks data may be among them; the rule itself lists it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator

from blockcheck.analysis.budgets import Budget, Draw
from blockcheck.analysis.case import Case
from blockcheck.analysis.turnouts import Ladders
from blockcheck.core.natural import natural_key
from blockcheck.model.layout import SUBJECTS
from blockcheck.model.operate import open_position
from blockcheck.model.uses import uses
from blockcheck.rules._volts import complete, usual


def accepts(case: Case) -> Iterator[str]:
    """What each exception is for."""
    return (accept.where for accept in case.layout.accept)


def described(case: Case, table: str) -> Iterator[str]:
    """The names of a table; those of stock data are on offer, and not told of."""
    layers = case.wiring.document.layers
    for name in getattr(case.layout, table):
        if not all(layer.file.stock for layer in layers[table, name]):
            yield name


def usable(case: Case) -> list[str]:
    """All that something else of the layout is there to refer to."""
    return [name for table in uses(case.wiring) for name in described(case, table)]


def names(case: Case) -> Iterator[str]:
    """All names of the layout, those of groups too."""
    yield from (name for table in SUBJECTS for name in getattr(case.layout, table))
    yield from case.wiring.groups


def blocks(case: Case) -> Iterable[str]:
    """All blocks."""
    return case.wiring.fed


def wired(case: Case) -> Iterator[str]:
    """Blocks that name an isolator which exists."""
    return (name for name, fed in case.wiring.fed.items() if fed.isolator is not None)


def storage(case: Case) -> Iterator[str]:
    """Storage tracks."""
    return (name for name, fed in case.wiring.fed.items() if fed.block.kind == "storage")


def numbered(case: Case) -> Iterator[str]:
    """Blocks with a track number."""
    return (name for name in case.wiring.fed if name in case.wiring.tracks)


def homed(case: Case) -> Iterator[str]:
    """Blocks with a channel that also name a district."""
    return (
        name
        for name, fed in case.wiring.fed.items()
        if fed.channel is not None and fed.block.district is not None and not fed.missing
    )


def detected(case: Case) -> Iterator[str]:
    """Blocks of the circuit with a detector."""
    return (name for name in case.blocks if case.wiring.fed[name].channel is not None)


def meeting(case: Case) -> list[str]:
    """Blocks that meet another."""
    return sorted({name for joint in case.layout.joints for name in joint.blocks}, key=natural_key)


def joined(case: Case) -> Iterator[str]:
    """Blocks with a detector that meet another."""
    met = {name for joint in case.layout.joints for name in joint.blocks}
    return (name for name in detected(case) if name in met)


def channels(case: Case) -> Iterator[str]:
    """Channels with a block."""
    return map(str, case.wiring.blocks_of_channel)


def blocks_and_boards(case: Case) -> list[str]:
    """All blocks, and boards of a type that exists."""
    return [*case.wiring.fed, *boards(case)]


def boards(case: Case) -> list[str]:
    """Boards of a type that exists."""
    return sorted(
        (one.name for one in case.layout.boards.values() if one.type in case.layout.board_types), key=natural_key
    )


def rated_types(case: Case) -> Iterator[str]:
    """Types of board whose data say what a channel may carry."""
    return (name for name, one in case.layout.board_types.items() if one.channel_current_a is not None)


def addressed(case: Case) -> Iterator[str]:
    """Channels of boards that report by number."""
    for name in boards(case):
        board = case.layout.boards[name]
        if board.first_address is not None:
            yield from (f"{name}.{number + 1}" for number in range(case.layout.board_types[board.type].channels))


def isolators(case: Case) -> Iterable[str]:
    """All isolators."""
    return case.wiring.switched


def used_isolators(case: Case) -> Iterator[str]:
    """Isolators through which a block is wired."""
    return (name for name, many in case.wiring.switched.items() if many)


def cutting(case: Case) -> Iterator[str]:
    """Isolators that are meant to be opened, for blocks all of which are in the circuit."""
    for name, many in case.wiring.meant.items():
        meant = _opens(case, name) or case.layout.isolators[name].isolates is not None
        if many and meant and case.circuit.detected.keys() >= set(many):
            yield name


def isolated(case: Case) -> Iterator[str]:
    """Blocks of the circuit that an isolator which can be opened is meant for."""
    return (name for name in case.blocks if any(_opens(case, one) for one in case.wiring.isolators_of[name]))


def dropped(case: Case) -> Iterator[str]:
    """Those whose detection is meant to go off with it."""
    return _detection(case, "off")


def held(case: Case) -> Iterator[str]:
    """Those with a detector whose detection is meant to be held."""
    return (name for name in _detection(case, "held") if case.wiring.fed[name].channel is not None)


def _detection(case: Case, meant: str) -> Iterator[str]:
    for name in case.blocks:
        cuts = (one for one in case.wiring.isolators_of[name] if _opens(case, one))
        if any(case.layout.isolators[one].detection == meant for one in cuts):
            yield name


def _opens(case: Case, isolator: str) -> bool:
    return open_position(case.wiring, isolator) is not None


def turnouts(case: Case) -> list[str]:
    """Turnouts, and the blocks that they lie in and lead to."""
    ladders = case.always(Ladders.of)
    blocks = {block for leg in ladders.legs for block in leg.pair}
    return sorted({*ladders.names, *blocks}, key=natural_key)


def frogs(case: Case) -> list[str]:
    """Turnouts with a switched frog."""
    return sorted(case.circuit.frogs, key=natural_key)


def harnesses(case: Case) -> list[str]:
    """Harnesses with a block."""
    return sorted({str(one.block.harness) for one in case.wiring.fed.values() if one.block.harness}, key=natural_key)


def trains(case: Case) -> list[str]:
    """Trains that stand somewhere."""
    return sorted({one.train for operation in case.operations for one in operation.trains}, key=natural_key)


def shared_blocks(case: Case) -> list[str]:
    """Blocks in which several trains stand at once."""
    found: dict[str, None] = {}
    for operation in case.operations:
        blocks = [one.block for one in operation.trains if case.layout.blocks[one.block].kind != "throat"]
        found.update((block, None) for block in blocks if blocks.count(block) > 1)
    return sorted(found, key=natural_key)


def scenarios(case: Case) -> Iterator[str]:
    """Scenarios that say what they expect, of blocks that are all in the circuit."""
    for one in case.operations:
        expected = {block for many in one.expect.values() for block, _ in many}
        if one.scenario is not None and expected and case.circuit.detected.keys() >= expected:
            yield one.scenario


def live(case: Case) -> Iterator[str]:
    """Blocks that are live and lack nothing."""
    return (one for one in complete(case, "", stand=False) if isinstance(one, str))


def stood_in(case: Case) -> Iterator[str]:
    """Those in which trains stand."""
    return (one for one in complete(case, "", stand=True) if isinstance(one, str))


def seen(case: Case) -> Iterator[str]:
    """Those in which trains stand and that have a detector."""
    return (one for one in stood_in(case) if case.wiring.fed[one].channel is not None)


def fed_detected(case: Case) -> Iterator[str]:
    """Blocks with a detector that a district feeds now."""
    return (name for name in usual(case).feeding.supply if case.wiring.fed[name].channel is not None)


def expecting(case: Case) -> list[str]:
    """Districts that expect vehicles anywhere."""
    placed = usual(case).feeding.with_trains
    districts = case.layout.districts.items()
    return sorted((name for name, one in districts if one.expects and name not in placed), key=natural_key)


def limited_districts(case: Case) -> Iterator[str]:
    """Districts with a limit."""
    return _limited(case, Budget.districts)


def limited_boosters(case: Case) -> Iterator[str]:
    """Boosters with a limit, of whose districts none is over its own."""
    over = {str(claim[1]) for claim in case.mended if claim[0] == "over"}
    told = {case.layout.districts[name].booster for name in over if name in case.layout.districts}
    return (name for name in _limited(case, Budget.boosters) if name not in told)


def limited_channels(case: Case) -> Iterator[str]:
    """Channels whose board has a limit."""
    return _limited(case, Budget.channels)


def limited_contacts(case: Case) -> Iterator[str]:
    """Isolators with a rating."""
    return _limited(case, Budget.contacts)


def within(case: Case) -> list[str]:
    """Districts and boosters that are below their limit in every operation."""
    over, names = set[str](), dict[str, None]()
    for operation in case.operations:
        budget = Budget.of(case, operation)
        for draw in (*budget.districts(), *budget.boosters()):
            names[draw.name] = None
            if draw.needs or draw.limit_a is None or draw.current_a > draw.limit_a:
                over.add(draw.name)
    return [name for name in names if name not in over]


def _limited(case: Case, draws: Callable[[Budget], Iterator[Draw]]) -> Iterator[str]:
    names = dict[str, None]()
    for operation in case.operations:
        names.update((draw.name, None) for draw in draws(Budget.of(case, operation)) if draw.limit_a is not None)
    return iter(names)

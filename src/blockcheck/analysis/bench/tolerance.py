"""How far a reading may lie from what it should be and still be right."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from attrs import frozen

from blockcheck.analysis.bench.wired import VOLTS, Step
from blockcheck.core.columns import column
from blockcheck.core.errors import CallError
from blockcheck.model.quantities import DIMENSIONS, Fraction, Ohms, QuantityError, Volts, parse, show

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

# Wire and rail of one size differ by some per cent from table to table, a usual meter adds one or two, and probes and
# clips some milliohms (common practice, no source).
_SIGMAS = 2.0
"""The tolerance is taken as so many standard deviations."""


@frozen
class Tolerance:
    """A share of the reading, and so many ohms or volts besides."""

    share: float = column("A share of the reading.", default=0.05, least=0)
    ohms: float = column("Ohms besides.", default=0.002, least=0)
    volts: float = column("Volts besides.", default=0.3, least=0)

    def of(self, step: Step, value: NDArray[np.float64]) -> NDArray[np.float64]:
        """For readings of a test. Where data lack, all that is told is connected or not."""
        found: Any = self.share * value + (self.volts if step.kind == VOLTS else self.ohms + step.slack_ohm)
        return found + 0.5 * value + 2.0 if step.rough else found  # type: ignore[no-any-return]

    @property
    def words(self) -> str:
        """As it is written in a call."""
        parts = (self.share, Fraction), (self.ohms, Ohms), (self.volts, Volts)
        return " + ".join(show(value, DIMENSIONS[kind]) for value, kind in parts)


def tolerance_of(text: str | None) -> Tolerance:
    """Read ``5 % + 2 mohm + 0.3 V``; what is left out keeps its default. Raises CallError."""
    if text is None:
        return Tolerance()
    found: dict[str, float] = {}
    for part in text.split("+"):
        for name, kind in (("share", Fraction), ("ohms", Ohms), ("volts", Volts)):
            try:
                value = parse(part, DIMENSIONS[kind])
            except QuantityError:
                continue
            if name in found:
                raise CallError(f"tolerance gives {part.strip()} beside another of its kind", "keep one of the two")
            found[name] = value
            break
        else:
            raise CallError(
                f'tolerance cannot be read at "{part.strip()[:40]}"',
                f'write a percentage, ohms and volts, such as "{Tolerance().words}"; what is left out stays as it is',
            )
    if found.get("share", 0.0) >= 0.5:
        raise CallError("tolerance of half the reading tells nothing", 'write a smaller one, such as "5 %"')
    return Tolerance(**found)


def normal(residual: NDArray[np.float64]) -> NDArray[np.float64]:
    """The log likelihood of readings that lie so many tolerances off, up to a constant."""
    found: NDArray[np.float64] = -0.5 * (_SIGMAS * residual) ** 2
    return found

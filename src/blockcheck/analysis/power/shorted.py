"""Rails that a frog joins: no volts are left between them for a second short, whose current is nought over nought."""

from __future__ import annotations

from collections.abc import Sequence

from blockcheck.network.grid import Track

SHORTED_V = 1e-6
"""Less than this between the rails with no load drawing: they are joined without resistance."""


def shorted(track: Track, volts: Sequence[float]) -> bool:
    """Whether the rails of a track are joined somewhere."""
    ends = zip(track.detected, track.common, strict=True)
    return min(abs(volts[a] - volts[b]) for a, b in ends) <= SHORTED_V

"""Scales against the open standards."""

from __future__ import annotations

import pytest

from blockcheck.model.standards import SCALES


@pytest.mark.parametrize(
    ("name", "ratio"), [("Z", 220), ("N", 160), ("TT", 120), ("S", 64), ("0", 45), ("I", 32), ("II", 22.5)]
)
def test_nem_010(name: str, ratio: float) -> None:
    """NEM 010 (2011). One web copy of it prints 1:60 for S; 1:64 is what the others have."""
    assert SCALES[name].value == ratio
    assert "NEM 010" in SCALES[name].source


@pytest.mark.parametrize(("name", "mm_per_foot"), [("HO", 3.5), ("OO", 4.0), ("O", 25.4 / 4)])
def test_nmra_s_1_2(name: str, mm_per_foot: float) -> None:
    """NMRA S-1.2 gives these as so many millimetres (O: a quarter of an inch) to the foot; its table from memory."""
    assert SCALES[name].value == pytest.approx(304.8 / mm_per_foot, rel=1e-12)
    assert "NMRA S-1.2" in SCALES[name].source


@pytest.mark.parametrize(("name", "printed"), [("HO", 87.1), ("OO", 76.2), ("O", 48.0)])
def test_ratios_as_they_are_printed(name: str, printed: float) -> None:
    """NMRA S-1.2 prints the ratios to one decimal; its table from memory."""
    assert round(SCALES[name].value, 1) == printed


def test_h0_is_ho() -> None:
    """NEM 010 writes H0 with a figure, and 1:87, which is HO's ratio to the nearest whole number."""
    assert SCALES["H0"] == SCALES["HO"]
    assert round(SCALES["H0"].value) == 87


def test_thirty_feet_is_half_a_scale_mile() -> None:
    """Common practice, no source: thirty feet at 1:87.1 is about half a scale mile."""
    miles = 30 * SCALES["HO"].value / 5280
    assert miles == pytest.approx(0.5, rel=0.02)
